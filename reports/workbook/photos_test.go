package workbook_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"retrostage/assets/soak"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
)

// camera is a JPEG with words in it that are no picture.
func camera(t testing.TB, w, h int, seed uint64) []byte {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 14))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, color.RGBA{uint8(x), uint8(y), uint8(r.Uint32() & 31), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	exif := []byte("Exif\x00\x00LATITUDE 51.5")
	return slices.Concat([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}, exif, b.Bytes()[2:])
}

func threePhotos(t testing.TB) []workbook.Photo {
	at := time.Date(2026, 8, 14, 10, 5, 7, 123, time.FixedZone("", -4*3600))
	return []workbook.Photo{
		workbook.PhotoOf("=plate.jpg", record.Intake, "T-17", at, camera(t, 1600, 1200, 1), nil),
		workbook.PhotoOf("terminals before.jpg", record.Wiring, "T-17", at.Add(time.Hour), camera(t, 700, 900, 2), nil),
		workbook.PhotoOf("lost.jpg", record.Wiring, "T-17", at.Add(2*time.Hour), nil, errors.New("the picture is not on this tablet")),
	}
}

// The photos of a job stand on a sheet of their own, brought down, with what is known of
// each; the workbook reads back as exported, is rebuilt without their bytes, and keeps
// them under a countersignature.
func TestPhotos(t *testing.T) {
	t.Parallel()
	b := make1(t, 2026, 0, workbook.Options{Key: tabletKey(), Photos: threePhotos(t)})
	r, err := verify(b)
	if err != nil || r.State != workbook.AsExported || r.Check != workbook.Rebuilt || len(r.Photos) != 3 {
		t.Fatalf("%s, %s, %d photos, %v, %.900v", r.State, r.Check, len(r.Photos), err, r.Changes)
	}
	if again := make1(t, 2026, 0, workbook.Options{Key: tabletKey(), Photos: threePhotos(t)}); !bytes.Equal(again, b) {
		t.Error("the same job is not the same file")
	}
	f, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows("Photos")
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, row := range rows {
		said += strings.Join(row, "|") + "\n"
	}
	for _, want := range []string{"1|'=plate.jpg|Intake|T-17|2026-08-14 10:05", "2|terminals before.jpg|Wiring|T-17", "the picture is not on this tablet"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in\n%s", want, said)
		}
	}
	shown := pictures(t, b)
	if len(shown) != 2 {
		t.Fatalf("%d pictures", len(shown))
	}
	for _, p := range shown {
		c, err := jpeg.DecodeConfig(bytes.NewReader(p))
		if err != nil || max(c.Width, c.Height) > 1000 || bytes.Contains(p, []byte("LATITUDE")) {
			t.Errorf("%v, %+v", err, c)
		}
	}
	signed := countersigned(t, b, workbook.Accept, "")
	r, err = verify(signed)
	if err != nil || r.State != workbook.Signed || r.Countersigned == nil || len(pictures(t, signed)) != 2 {
		t.Fatalf("%s, %v, %v", r.State, err, r.Changes)
	}
	if dir := t.TempDir(); !testing.Short() { // another program saves it
		path := filepath.Join(dir, "photos.xlsx")
		if err := os.WriteFile(path, signed, 0o600); err != nil {
			t.Fatal(err)
		}
		saved, err := os.ReadFile(filepath.Join(office(t, dir, "xlsx", path), "photos.xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		if r, err = workbook.Verify(context.Background(), saved); err != nil || r.State != workbook.Signed {
			t.Errorf("saved by LibreOffice: %s, %v, %.900v", r.State, err, r.Changes)
		}
	}
}

// pictures are those that lie on the sheet of photos.
func pictures(t testing.TB, b []byte) [][]byte {
	t.Helper()
	f, err := sheetfile.Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	ps, err := f.Pictures("Photos")
	if err != nil {
		t.Fatal(err)
	}
	return ps
}

// No photo is altered, replaced, moved, swapped with another or taken away, and nothing
// said of one is, without being told.
func TestForgedPhotos(t *testing.T) {
	t.Parallel()
	good := make1(t, 2026, 0, workbook.Options{Sign: signature, Key: tabletKey(), Photos: threePhotos(t)})
	names := map[string]string{} // of the media, by digest
	rewrite(t, good, func(name string, data []byte) []byte {
		if strings.HasPrefix(name, "xl/media/") {
			h := sha256.Sum256(data)
			names[hex.EncodeToString(h[:])] = name
		}
		return data
	})
	r, err := verify(good)
	if err != nil || r.State != workbook.Signed {
		t.Fatalf("%s, %v, %.900v", r.State, err, r.Changes)
	}
	one, two := names[r.Photos[0].Digest], names[r.Photos[1].Digest]
	if one == "" || two == "" {
		t.Fatal("the pictures are not in the file")
	}
	other := workbook.PhotoOf("x", record.Intake, "", time.Now(), camera(t, 1600, 1200, 9), nil)
	if other.Digest == r.Photos[0].Digest {
		t.Fatal("it is the same picture")
	}
	drawing := regexp.MustCompile(`xl/drawings/drawing\d+\.xml$`)
	ofPhotos := func(name string, data []byte) bool {
		return drawing.MatchString(name) && bytes.Contains(data, []byte("Photo 1"))
	}
	var a, b []byte
	rewrite(t, good, func(name string, data []byte) []byte {
		switch name {
		case one:
			a = data
		case two:
			b = data
		}
		return data
	})
	for what, change := range map[string]func(name string, data []byte) []byte{
		"a byte of a photo": func(name string, data []byte) []byte {
			if name == one {
				data = bytes.Clone(data)
				data[len(data)/2] ^= 1
			}
			return data
		},
		"another photo": func(name string, data []byte) []byte {
			if name == one {
				return camera(t, 640, 480, 9)
			}
			return data
		},
		"two swapped": func(name string, data []byte) []byte {
			switch name {
			case one:
				return b
			case two:
				return a
			}
			return data
		},
		"one twice": func(name string, data []byte) []byte {
			if name == two {
				return a
			}
			return data
		},
		"one moved": func(name string, data []byte) []byte {
			if ofPhotos(name, data) {
				return regexp.MustCompile(`<xdr:row>(\d+)</xdr:row>`).ReplaceAll(data, []byte(`<xdr:row>1$1</xdr:row>`))
			}
			return data
		},
		"one cut": func(name string, data []byte) []byte {
			if ofPhotos(name, data) {
				return bytes.Replace(data, []byte("<a:stretch>"), []byte(`<a:srcRect b="50000"/><a:stretch>`), 1)
			}
			return data
		},
		"all taken away": func(name string, data []byte) []byte {
			if ofPhotos(name, data) {
				return regexp.MustCompile(`(?s)<xdr:oneCellAnchor.*</xdr:oneCellAnchor>`).ReplaceAll(data, nil)
			}
			return data
		},
	} {
		touched := false
		forged := rewrite(t, good, func(name string, data []byte) []byte {
			out := change(name, data)
			touched = touched || !bytes.Equal(out, data)
			return out
		})
		if !touched {
			t.Errorf("%s: nothing was changed", what)
			continue
		}
		for how, read := range map[string]func([]byte) (workbook.Reading, error){"read": func(b []byte) (workbook.Reading, error) { return workbook.ReadBytes(b) }, "verified": verify} {
			r, err := read(forged)
			if err == nil && r.State != workbook.Altered {
				t.Errorf("%s, %s: %s", what, how, r.State)
			}
			if err == nil && !strings.Contains(fmt.Sprint(r.Changes), "Photos") {
				t.Errorf("%s, %s: told as %.300v", what, how, r.Changes)
			}
		}
	}
	for what, change := range map[string]func(f *excelize.File) error{
		"who took it": func(f *excelize.File) error { return f.SetCellValue("Photos", "D5", "T-40") },
		"when":        func(f *excelize.File) error { return f.SetCellValue("Photos", "E5", "2026-08-15 10:05") },
		"the step":    func(f *excelize.File) error { return f.SetCellValue("Photos", "C5", "Hand-over") },
	} {
		if r, err := verify(edit(t, good, change)); err == nil && r.State != workbook.Altered {
			t.Errorf("%s: %s", what, r.State)
		}
	}
}

// However many there are, the workbook stays one that can be read and mailed, and says
// what it does not show.
func TestManyPhotos(t *testing.T) {
	t.Parallel()
	raw := camera(t, 1000, 750, 3)
	var ps []workbook.Photo
	n := soak.Count(120, 500) // twice what is shown, or more
	p := workbook.PhotoOf("", record.Wiring, "T-17", time.Unix(1.79e9, 0), raw, nil)
	for i := range n {
		p.Name = fmt.Sprint(i) // brought down once, for it is the same picture
		ps = append(ps, p)
	}
	b := make1(t, 2026, 0, workbook.Options{Photos: ps})
	r, err := verify(b)
	if err != nil || r.State != workbook.AsExported || len(r.Photos) != n {
		t.Fatalf("%s, %d, %v", r.State, len(r.Photos), err)
	}
	shown := 0
	for _, p := range r.Photos {
		if p.Digest != "" {
			shown++
		} else if !strings.Contains(p.Why, "the job has it") {
			t.Fatalf("%+v", p)
		}
	}
	if shown == 0 || shown > 60 || len(b) > 12<<20 {
		t.Errorf("%d shown, %d bytes", shown, len(b))
	}
}
