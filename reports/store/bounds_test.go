package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/assets/soak"
)

// Ten megabytes of anything are read or refused in a second and 200 MB, by each parser of
// what comes from elsewhere.
func TestTenMegabytes(t *testing.T) {
	const most = 10 << 20
	fill := func(head, body, tail string) []byte {
		return []byte(head + strings.Repeat(body, (most-len(head)-len(tail))/len(body)) + tail)
	}
	plainEvent := `{"id":"` + NewID() + `","device":"` + NewID() + `","order":1,"when":"2026-08-14T10:00:00Z","kind":"entry","job":"a","payload":"e30=","sum":""},`
	things := soak.Hostile(`{"kind":"retrostage events","version":1,"events":[`, plainEvent)
	things["events"] = fill(`{"kind":"retrostage events","version":1,"events":[`, plainEvent, `{}]}`)
	things["small events"] = fill(`{"kind":"retrostage events","version":1,"events":[`, `{},`, `{}]}`)
	things["members"] = fill(`{"entry":{"key":"suction_temp","value":"`, `\u0041`, `"}}`)
	dir := t.TempDir()
	for name, b := range things {
		path := filepath.Join(dir, "packet.json")
		must(t, os.WriteFile(path, b, 0o600))
		soak.Bounded(t, "packet of "+name, func() {
			p, err := readPacket(path)
			for _, e := range p.Events {
				if _, ok := e.unpack(); ok {
					t.Error("an event out of nothing")
				}
			}
			_ = err
		})
		soak.Bounded(t, "payload of "+name, func() { decode(b) })
		soak.Bounded(t, "picture of "+name, func() {
			if _, _, err := reencode(bytes.NewReader(b)); err == nil {
				t.Error("a picture out of nothing")
			}
		})
		soak.Bounded(t, "database of "+name, func() {
			d := t.TempDir()
			must(t, os.WriteFile(filepath.Join(d, File), b, 0o600))
			if l, err := Open(d); err == nil {
				l.Close()
			}
		})
		soak.Bounded(t, "key and mark of "+name, func() {
			d := t.TempDir()
			must(t, os.MkdirAll(filepath.Join(d, keyDir), 0o700))
			must(t, os.WriteFile(filepath.Join(d, keyDir, NewID()+".json"), b, 0o600))
			must(t, os.WriteFile(filepath.Join(d, exchangeMark), b, 0o600))
			l := opened(t, t.TempDir())
			if _, err := l.Exchange(d); err == nil {
				t.Error("the mark was read")
			}
			l.mu.Lock()
			l.exchangeKeys(d)
			l.mu.Unlock()
			if ks, _ := keysIn(l.db); len(ks) > 0 {
				t.Error("a key out of nothing")
			}
		})
	}
}

// The largest pictures that are taken, and those that say they are larger.
func TestLargePictures(t *testing.T) {
	side := 1
	for (side+1)*(side+1) <= MaxPixels {
		side++
	}
	flat := image.NewGray(image.Rect(0, 0, side, side))
	for i := range flat.Pix {
		flat.Pix[i] = uint8(i * 7)
	}
	exif := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00")
	mark := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}, exif...)
	var j, g bytes.Buffer
	must(t, jpeg.Encode(&j, flat, &jpeg.Options{Quality: 10}))
	must(t, png.Encode(&g, flat))
	col := image.NewRGBA(image.Rect(0, 0, side, side))
	for x := range side {
		col.Set(x, x, color.White)
	}
	var c, cp bytes.Buffer
	must(t, jpeg.Encode(&c, col, nil))
	must(t, png.Encode(&cp, col))
	few := 1200 * 5000 // fewer points: each takes more room
	big := image.NewNRGBA64(image.Rect(0, 0, 5000, few/5000))
	for i := range big.Pix {
		big.Pix[i] = uint8(i / 9000)
	}
	var deep bytes.Buffer
	must(t, png.Encode(&deep, big))
	for name, b := range map[string][]byte{"grey JPEG": j.Bytes(), "grey JPEG, turned": append(mark, j.Bytes()[2:]...), "colour JPEG": c.Bytes(), "colour JPEG, turned": append(bytes.Clone(mark), c.Bytes()[2:]...),
		"deep PNG, fewer": deep.Bytes(), "grey PNG": g.Bytes(), "colour PNG": cp.Bytes()} {
		soak.Bounded(t, fmt.Sprintf("%s of %d points", name, side*side), func() {
			if _, _, err := reencode(bytes.NewReader(b)); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		})
	}
}

// FuzzPacket: whatever stands in a shared folder is refused or is events with their sums.
func FuzzPacket(f *testing.F) {
	l := opened(f, f.TempDir())
	c := change{kind: Created}
	e := Event{ID: NewID(), Device: NewID(), Order: 7, When: at, Kind: c.kind, Job: "job-1"}
	e.Payload, _ = c.p.encode()
	b, err := json.Marshal(packet{Kind: packetKind, Version: 1, Device: l.device, Events: []packed{pack(e)}})
	must(f, err)
	f.Add(b)
	f.Add(bytes.Replace(b, []byte(`"order":7`), []byte(`"order":9007199254740993`), 1))
	f.Add([]byte(`{"kind":"retrostage events","version":1,"events":[{"id":null}]}`))
	k, err := json.Marshal(Key{NewID(), "job-1", make([]byte, 32)})
	must(f, err)
	f.Add(k)
	f.Fuzz(func(t *testing.T, b []byte) {
		path := filepath.Join(t.TempDir(), "packet.json")
		must(t, os.WriteFile(path, b, 0o600))
		p, err := readPacket(path)
		if err == nil {
			for _, e := range p.Events {
				if x, ok := e.unpack(); ok && (x.check() != nil || x.Order < 1) {
					t.Fatalf("%+v", x)
				}
			}
		}
		var k Key
		if json.Unmarshal(b, &k) == nil && k.check() == nil && (len(k.Key) != 32 || !isID(k.ID)) {
			t.Fatalf("%+v", k)
		}
		decode(b)
	})
}

// All eight ways in which a photo can be turned, by planes and by points, against what
// the tag says in words (published standard of the tag, from memory): where the first row
// and the first column of the file belong.
func TestTurned(t *testing.T) {
	const w, h = 7, 4                                       // odd, so that halved colours do not come out even
	for how, c := range map[int]struct{ x, y, x2, y2 int }{ // of the file's first point, and of the next in its row, in the turned picture
		1: {0, 0, 1, 0}, 2: {w - 1, 0, w - 2, 0}, 3: {w - 1, h - 1, w - 2, h - 1}, 4: {0, h - 1, 1, h - 1},
		5: {0, 0, 0, 1}, 6: {h - 1, 0, h - 1, 1}, 7: {h - 1, w - 1, h - 1, w - 2}, 8: {0, w - 1, 0, w - 2}} {
		gray := image.NewGray(image.Rect(0, 0, w, h))
		gray.SetGray(0, 0, color.Gray{200})
		gray.SetGray(1, 0, color.Gray{100})
		rgba := image.NewRGBA(gray.Rect)
		rgba.Set(0, 0, color.Gray{200})
		rgba.Set(1, 0, color.Gray{100})
		for _, ratio := range []image.YCbCrSubsampleRatio{image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio420, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411} {
			full := image.NewYCbCr(gray.Rect, ratio)
			for i := range full.Cb {
				full.Cb[i], full.Cr[i] = 128, 128
			}
			full.Y[0], full.Y[1] = 200, 100
			for _, img := range []image.Image{gray, rgba, full} {
				out := turned(img, how)
				a, b := color.GrayModel.Convert(out.At(c.x, c.y)).(color.Gray), color.GrayModel.Convert(out.At(c.x2, c.y2)).(color.Gray)
				if near := func(x uint8, y int) bool { return max(int(x), y)-min(int(x), y) < 3 }; !near(a.Y, 200) || !near(b.Y, 100) {
					t.Errorf("turned by %d, %T %v: %d and %d", how, img, ratio, a.Y, b.Y)
				}
			}
		}
	}
}
