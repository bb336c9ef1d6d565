package store

import (
	"bufio"
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/record"
)

const killDir = "RETROSTAGE_TEST_STORE_DIR"

// TestMain also is the process that types until it is killed.
func TestMain(m *testing.M) {
	if dir := os.Getenv(killDir); dir != "" {
		typeUntilKilled(dir)
		os.Exit(3)
	}
	os.Exit(m.Run())
}

// typeUntilKilled enters one number after another and names each on standard output
// once Save has acknowledged it.
func typeUntilKilled(dir string) {
	l, err := Open(dir)
	if err != nil {
		fmt.Println("error", err)
		return
	}
	j, err := l.Load("job-1")
	if err != nil {
		j = record.New("job-1")
	}
	for i := range 1000 {
		e := record.Entry{Key: record.SuctionTemp, Value: strconv.Itoa(len(j.Entries)%60 + 20), Time: time.Now(), Again: true}
		if err := j.Set(e); err != nil {
			fmt.Println("error", err)
			return
		}
		if err := l.Save(j, "T-17"); err != nil {
			fmt.Println("error", err)
			return
		}
		fmt.Println("saved", len(j.Entries), i)
	}
	fmt.Println("done")
	time.Sleep(time.Minute)
}

// Killed while it writes, again and again: whatever was acknowledged is there, in its
// order, nothing is damaged, and nothing lies about.
func TestKilled(t *testing.T) {
	dir := t.TempDir()
	acknowledged := 0
	for round := range soak.Count(10, 200) {
		n, err := killAfter(dir, time.Duration(5+(round*37)%120)*time.Millisecond)
		if err != nil {
			t.Fatal(err)
		}
		acknowledged = max(acknowledged, n)
		l, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		es, damaged, err := l.Events("")
		if err != nil || len(damaged) > 0 || l.Note != "" {
			t.Fatal(err, damaged, l.Note)
		}
		s := fold("job-1", es, l.keys)
		if got := len(s.Job.Entries); got < acknowledged || got > acknowledged+1 {
			t.Fatalf("round %d: %d entries, %d were acknowledged", round, got, acknowledged)
		}
		for i, e := range s.Job.Entries {
			if e.Value != strconv.Itoa(i%60+20) {
				t.Fatalf("entry %d is %s", i, e.Value)
			}
		}
		acknowledged = len(s.Job.Entries)
		must(t, l.Close())
		left, _ := os.ReadDir(dir)
		for _, f := range left {
			if !slices.Contains([]string{File, "writer", copies}, f.Name()) {
				t.Fatalf("round %d: %s lies about", round, f.Name())
			}
		}
	}
	if acknowledged < 20 {
		t.Errorf("only %d edits were made: nothing was tried", acknowledged)
	}
	t.Logf("%d acknowledged edits, none lost", acknowledged)
}

// killAfter lets the helper type, kills it a while after its first word, and tells
// how many entries it had acknowledged.
func killAfter(dir string, d time.Duration) (n int, err error) {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), killDir+"="+dir)
	out, err := c.StdoutPipe()
	if err != nil {
		return 0, err
	}
	if err := c.Start(); err != nil {
		return 0, err
	}
	defer c.Wait()
	lines := bufio.NewScanner(out)
	for first := true; lines.Scan(); first = false {
		w := strings.Fields(lines.Text())
		if first {
			time.AfterFunc(d, func() { c.Process.Kill() })
		}
		if w[0] == "error" {
			c.Process.Kill()
			return n, fmt.Errorf("%s", lines.Text())
		}
		if w[0] == "saved" && len(w) == 3 {
			n, _ = strconv.Atoi(w[1])
		}
	}
	return n, nil
}

// A disk that is full: a clear message, nothing corrupted, and work goes on when there
// is room. The database's own limit of pages stands for the disk; SQLite gives the
// same error.
func TestDiskFull(t *testing.T) {
	l := opened(t, t.TempDir())
	var pages int
	must(t, l.db.QueryRow("PRAGMA page_count").Scan(&pages))
	limit := func(n int) {
		must(t, l.db.QueryRow(fmt.Sprintf("PRAGMA max_page_count = %d", n)).Scan(&n))
	}
	limit(pages + 2)
	j := record.New("job-1")
	saved := 0
	var err error
	for i := range 1000 {
		j.Set(record.Entry{Key: record.IntakeNote, Value: fmt.Sprint(i) + strings.Repeat("x", 500), Time: at})
		if err = l.Save(j, ""); err != nil {
			break
		}
		saved = len(j.Entries)
	}
	if err == nil || !strings.Contains(err.Error(), "full") {
		t.Fatalf("%v", err)
	}
	t.Log(err)
	if got, _ := l.State("job-1"); len(got.Job.Entries) != saved {
		t.Errorf("%d of %d entries", len(got.Job.Entries), saved)
	}
	limit(1 << 20)
	must(t, l.Save(j, ""))
	s, err := l.State("job-1")
	must(t, err)
	if d := same(j, s.Job); d != "" {
		t.Error(d)
	}
	var said string
	if l.db.QueryRow("PRAGMA integrity_check").Scan(&said); said != "ok" {
		t.Error(said)
	}
}

// A photo is kept without what is no picture, and is the same whoever sends it twice.
func TestAttach(t *testing.T) {
	l := opened(t, t.TempDir())
	must(t, l.Save(record.New("job-1"), ""))
	img := image.NewRGBA(image.Rect(0, 0, 40, 20))
	for x := range 20 {
		for y := range 20 {
			img.Set(x, y, color.White)
		}
	}
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, img, nil))
	// An EXIF block that says "turned by a quarter", and where the picture was taken.
	exif := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00LATITUDE 51.5")
	raw := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}, exif...)
	raw = append(raw, b.Bytes()[2:]...)
	a, err := l.Attach("job-1", "T-17", "plate.jpg", "old_unit_serial", bytes.NewReader(raw))
	must(t, err)
	if _, err := l.Attach("job-1", "T-17", "again.jpg", "", bytes.NewReader(raw)); err != nil {
		t.Fatal(err)
	}
	got, err := l.Picture("job-1", a)
	must(t, err)
	c, err := jpeg.Decode(bytes.NewReader(got))
	must(t, err)
	if a.Mime != "image/jpeg" || c.Bounds().Dx() != 20 || c.Bounds().Dy() != 40 || bytes.Contains(got, []byte("LATITUDE")) || bytes.Contains(got, []byte("Exif")) {
		t.Errorf("%s, %v", a.Mime, c.Bounds())
	}
	// Turned by a quarter to the right: what was left is above.
	if r, _, _, _ := c.At(10, 5).RGBA(); r < 0x8000 {
		t.Error("turned the wrong way")
	}
	s, err := l.State("job-1")
	must(t, err)
	if len(s.Attachments) != 2 || s.Attachments[0].Hash != s.Attachments[1].Hash {
		t.Errorf("%+v", s.Attachments)
	}
	var n int
	if l.db.QueryRow("SELECT count(*) FROM attachments").Scan(&n); n != 1 {
		t.Errorf("%d pictures", n)
	}
	for name, bad := range map[string][]byte{"text": []byte("hello"), "cut": raw[:len(raw)/2], "huge": append([]byte{0xff, 0xd8}, make([]byte, MaxPicture)...)} {
		if _, err := l.Attach("job-1", "", name, "", bytes.NewReader(bad)); err == nil {
			t.Error(name, "passed")
		}
	}
}

// BenchmarkCommit is one field committed at several sizes of the job, and in turns with
// it a bare insert of the same bytes into a file of its own: medians, the 99th of a
// hundred, and the ratio of the medians.
func BenchmarkCommit(b *testing.B) {
	for _, n := range []int{100, 10_000, 50_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) { commitInTurns(b, n, record.SuctionTemp) })
	}
	b.Run("100 about people", func(b *testing.B) { commitInTurns(b, 100, record.IntakeNote) }) // encrypted
}

func commitInTurns(b *testing.B, n int, key record.Key) {
	l := opened(b, b.TempDir())
	j := record.New("job-1")
	for i := range n {
		must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: strconv.Itoa(i%60 + 20), Time: at, Again: true}))
	}
	must(b, l.Save(j, "T-17"))
	db, err := connect(filepath.Join(b.TempDir(), "bare.db"), "rwc", "journal_mode(WAL)", "synchronous(FULL)")
	must(b, err)
	defer db.Close()
	_, err = db.Exec("CREATE TABLE t (n INTEGER PRIMARY KEY, b BLOB)")
	must(b, err)
	put, err := db.Prepare("INSERT INTO t (b) VALUES (?)")
	must(b, err)
	p, _ := payload{Entry: &record.Entry{Key: key, Value: "55", Unit: "degF", Time: at}}.encode()
	same := append(p, make([]byte, 130)...) // ids, sum and the rest of an event
	var ours, bare []time.Duration
	var cpu [2]time.Duration
	for i := 0; b.Loop(); i++ {
		if len(j.Entries) == record.MaxEntries {
			break
		}
		must0(j.Set(record.Entry{Key: key, Value: strconv.Itoa(i%60 + 20), Time: at, Again: true}))
		p, t := soak.ProcessorTime(), time.Now()
		must(b, l.Save(j, "T-17"))
		u, q := time.Now(), soak.ProcessorTime()
		_, err := put.Exec(same)
		must(b, err)
		ours, bare = append(ours, u.Sub(t)), append(bare, time.Since(u))
		cpu[0], cpu[1] = cpu[0]+q-p, cpu[1]+soak.ProcessorTime()-q
	}
	slices.Sort(ours)
	slices.Sort(bare)
	at := func(d []time.Duration, share float64) float64 {
		return d[int(float64(len(d)-1)*share)].Seconds() * 1000
	}
	b.ReportMetric(at(ours, 0.5), "ms-median")
	b.ReportMetric(at(ours, 0.99), "ms-p99")
	b.ReportMetric(at(bare, 0.5), "ms-bare-median")
	b.ReportMetric(at(bare, 0.99), "ms-bare-p99")
	b.ReportMetric(at(ours, 0.5)/at(bare, 0.5), "ratio")
	b.ReportMetric(cpu[0].Seconds()/max(1e-9, cpu[1].Seconds()), "ratio-cpu")
}

// BenchmarkOpenJob opens a job of 10,000 events; ms-cpu is processor time, the
// collector's share with it.
func BenchmarkOpenJob(b *testing.B) {
	l := opened(b, b.TempDir())
	j := record.New("job-1")
	for i := range 10_000 {
		must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: strconv.Itoa(i%60 + 20), Time: at, Again: true}))
	}
	must(b, l.Save(j, "T-17"))
	was := soak.ProcessorTime()
	for b.Loop() {
		clear(l.states)
		_, err := l.Load("job-1")
		must(b, err)
	}
	b.ReportMetric((soak.ProcessorTime()-was).Seconds()*1000/float64(b.N), "ms-cpu")
}
