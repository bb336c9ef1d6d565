package store

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"retrostage/reports/record"
)

// kept is a folder of jobs as it lies on a disk: the database as it was copied in the
// middle of work, what is not in it yet (its log), and the sums of all its events.
type kept struct {
	db, wal []byte
	sums    map[string]bool
}

// someJobs is made once.
var someJobs = sync.OnceValue(func() (k kept) {
	dir, err := os.MkdirTemp("", "store-*")
	must0(err)
	defer os.RemoveAll(dir)
	l, err := Open(dir)
	must0(err)
	defer l.Close()
	fill := func(id string, n int) {
		j := record.New(id)
		for i := range n {
			must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: strconv.Itoa(i%60 + 20), Time: at, Again: true}))
			if i%10 == 0 {
				must0(l.Save(j, "T-17"))
			}
		}
		must0(l.Save(j, "T-17"))
	}
	fill("job-1", 60)
	_, err = l.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	must0(err)
	fill("job-2", 60)
	k.db, err = os.ReadFile(filepath.Join(dir, File))
	must0(err)
	k.wal, err = os.ReadFile(filepath.Join(dir, File+"-wal"))
	must0(err)
	es, _, err := l.Events("")
	must0(err)
	k.sums = map[string]bool{}
	for _, e := range es {
		k.sums[string(e.digested())] = true
	}
	return k
})

// openDamaged opens a folder of such files: it ends, soon, and gives events that were
// written and no others.
func openDamaged(t *testing.T, db, wal []byte) {
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, File), db, 0o600))
	if wal != nil {
		must(t, os.WriteFile(filepath.Join(dir, File+"-wal"), wal, 0o600))
	}
	began := time.Now()
	l, err := Open(dir)
	if d := time.Since(began); d > 30*time.Second {
		t.Errorf("opening took %v", d)
	}
	if err != nil {
		t.Logf("refused: %v", err)
		return
	}
	defer l.Close()
	es, _, err := l.Events("")
	if err != nil {
		t.Logf("read as far as that goes: %v", err)
	}
	for _, e := range es {
		if e.digest = [16]byte{}; !someJobs().sums[string(e.digested())] {
			t.Fatalf("an event that nobody wrote: %+v", e)
		}
	}
	for _, id := range []string{"job-1", "job-2"} {
		l.State(id)
	}
	if l.Note != "" { // and work goes on
		if err := l.Save(record.New("job-3"), ""); err != nil {
			t.Errorf("after %q: %v", l.Note, err)
		}
	}
}

// patched is b with a piece replaced at a place, cut off where cut says so.
func patched(b []byte, at uint32, piece []byte, cut bool) []byte {
	b = bytes.Clone(b)
	n := int(at) % len(b)
	if cut {
		return append(b[:n], piece...)
	}
	copy(b[n:], piece)
	return b
}

func FuzzDatabase(f *testing.F) {
	f.Add(uint32(0), []byte{}, false)
	f.Add(uint32(16), []byte{0xff, 0xff}, false) // the size of its pages
	f.Add(uint32(100), bytes.Repeat([]byte{0xff}, 60), false)
	f.Add(uint32(5000), bytes.Repeat([]byte{0}, 5000), false)
	f.Add(uint32(9000), []byte("}}"), false)
	f.Add(uint32(12000), []byte{}, true)
	f.Add(uint32(0), []byte("no database"), true)
	f.Add(uint32(60), []byte{0, 0, 0, 9}, false) // a newer form
	f.Fuzz(func(t *testing.T, at uint32, piece []byte, cut bool) {
		openDamaged(t, patched(someJobs().db, at, piece, cut), nil)
	})
}

func FuzzLog(f *testing.F) {
	f.Add(uint32(0), []byte{}, false)
	f.Add(uint32(8), []byte{0xff}, false)
	f.Add(uint32(40), bytes.Repeat([]byte{0xa5}, 5000), false)
	f.Add(uint32(9000), []byte{}, true)
	f.Fuzz(func(t *testing.T, at uint32, piece []byte, cut bool) {
		openDamaged(t, someJobs().db, patched(someJobs().wal, at, piece, cut))
	})
}

// A picture is refused or becomes one without anything beside the picture.
func FuzzPicture(f *testing.F) {
	img := image.NewRGBA(image.Rect(0, 0, 8, 4))
	img.Set(1, 1, color.White)
	var j, p bytes.Buffer
	must(f, jpeg.Encode(&j, img, nil))
	must(f, png.Encode(&p, img))
	exif := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00LATITUDE")
	marked := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}, exif...)
	f.Add(j.Bytes())
	f.Add(p.Bytes())
	f.Add(append(marked, j.Bytes()[2:]...))
	f.Add(p.Bytes()[:40])
	huge := bytes.Clone(p.Bytes())
	copy(huge[16:], []byte{0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff})
	f.Add(huge)
	f.Fuzz(func(t *testing.T, b []byte) {
		orientation(b)
		out, mime, err := reencode(bytes.NewReader(b))
		if err != nil {
			return
		}
		c, kind, err := image.DecodeConfig(bytes.NewReader(out))
		if err != nil || "image/"+kind != mime || c.Width*c.Height > MaxPixels {
			t.Fatalf("%v, %s, %+v", err, mime, c)
		}
		if _, _, err := image.Decode(bytes.NewReader(out)); err != nil {
			t.Fatalf("kept, and cannot be shown: %v", err)
		}
		if bytes.Contains(out, []byte("Exif\x00")) {
			t.Error("what is no picture is still there")
		}
	})
}
