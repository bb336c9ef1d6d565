package store

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
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
	quick := &png.Encoder{CompressionLevel: png.BestSpeed} // of the making, which is not what is tried
	must(t, quick.Encode(&g, flat))
	col := image.NewRGBA(image.Rect(0, 0, side, side))
	for x := range side {
		col.Set(x, x, color.White)
	}
	var c, cp bytes.Buffer
	must(t, jpeg.Encode(&c, col, nil))
	must(t, quick.Encode(&cp, col))
	noise := image.NewRGBA(col.Rect) // as a photo is: nothing repeats, and so packing it takes long
	r := rand.New(rand.NewPCG(3, 4))
	for i := range noise.Pix {
		if noise.Pix[i] = uint8(i/9000) ^ uint8(r.Uint32())&1; i%4 == 3 {
			noise.Pix[i] = 255
		}
	}
	var np, nj, sj bytes.Buffer
	must(t, quick.Encode(&np, noise))
	for i := range noise.Pix {
		if noise.Pix[i] ^= uint8(r.Uint32()) & 15; i%4 == 3 {
			noise.Pix[i] = 255
		}
	}
	must(t, jpeg.Encode(&nj, noise, &jpeg.Options{Quality: 97}))
	must(t, jpeg.Encode(&sj, noise.SubImage(image.Rect(0, 0, 4000, 3000)), &jpeg.Options{Quality: 98}))
	t.Logf("noise: PNG of %.1f MB, JPEG of %.1f, of fewer points %.1f", float64(np.Len())/(1<<20), float64(nj.Len())/(1<<20), float64(sj.Len())/(1<<20))
	few := 1200 * 5000 // fewer points: each takes more room
	big := image.NewNRGBA64(image.Rect(0, 0, 5000, few/5000))
	for i := range big.Pix {
		big.Pix[i] = uint8(i / 9000)
	}
	var deep bytes.Buffer
	must(t, quick.Encode(&deep, big))
	for name, b := range map[string][]byte{"grey JPEG": j.Bytes(), "grey JPEG, turned": append(mark, j.Bytes()[2:]...), "colour JPEG": c.Bytes(), "colour JPEG, turned": append(bytes.Clone(mark), c.Bytes()[2:]...),
		"deep PNG, fewer": deep.Bytes(), "grey PNG": g.Bytes(), "colour PNG": cp.Bytes(), "noise PNG": np.Bytes(), "noise JPEG": nj.Bytes(), "noise JPEG, fewer": sj.Bytes(),
		"JPEG by degrees": byDegrees(2800, 2800, 29)} {
		soak.Bounded(t, fmt.Sprintf("%s of %d points", name, side*side), func() {
			if _, _, err := reencode(bytes.NewReader(b)); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		})
	}
}

// Every four points of a photo are one, whatever its sides and its colours' detail.
func TestHalved(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio420} {
		for _, size := range []image.Point{{1, 1}, {2, 2}, {5, 6}, {6, 5}, {7, 7}, {8, 4}} {
			in := image.NewYCbCr(image.Rect(0, 0, size.X, size.Y), ratio)
			for i := range in.Y {
				in.Y[i] = byte(10 * i)
			}
			for i := range in.Cb {
				in.Cb[i], in.Cr[i] = 90, 40
			}
			out, ok := halved(in).(*image.YCbCr)
			if !ok || out.Rect.Dx() != (size.X+1)/2 || out.Rect.Dy() != (size.Y+1)/2 {
				t.Fatalf("%v, %v: %v", ratio, size, out.Rect)
			}
			if size.X > 1 {
				if want := (int(in.Y[0]) + int(in.Y[1]) + int(in.Y[in.YStride]) + int(in.Y[in.YStride+1]) + 2) / 4; int(out.Y[0]) != want {
					t.Errorf("%v, %v: the first point is %d, want %d", ratio, size, out.Y[0], want)
				}
			}
			for i := range out.Cb {
				if out.Cb[i] != 90 || out.Cr[i] != 40 {
					t.Fatalf("%v, %v: colour %d is %d, %d", ratio, size, i, out.Cb[i], out.Cr[i])
				}
			}
		}
	}
}

// byDegrees is a grey progressive JPEG in three colours, whose scans say nothing but that
// blocks are empty: ten thousand in 15 bits.
func byDegrees(w, h, scans int) []byte {
	b := []byte{0xff, 0xd8, 0xff, 0xdb, 0, 67, 0}
	b = append(b, bytes.Repeat([]byte{1}, 64)...)
	b = append(b, 0xff, 0xc2, 0, 17, 8, byte(h>>8), byte(h), byte(w>>8), byte(w), 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0)
	one := append([]byte{1}, make([]byte, 15)...)                        // a code of one bit
	b = append(append(append(b, 0xff, 0xc4, 0, 20, 0x00), one...), 0)    // a step of nothing
	b = append(append(append(b, 0xff, 0xc4, 0, 20, 0x10), one...), 0xd0) // 8192 blocks or more are at their end
	blocks := (w + 7) / 8 * ((h + 7) / 8)
	b = append(b, 0xff, 0xda, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0)
	b = append(b, make([]byte, (3*blocks+7)/8)...)
	for k := range scans - 1 {
		b = append(b, 0xff, 0xda, 0, 8, 1, byte(1+k%3), 0, 1, 63, 0)
		b = append(b, make([]byte, 2*(blocks/8192+2))...) // 14 bits each: the code, and 13 of how many more
	}
	return append(b, 0xff, 0xd9)
}

// What says that it is too much is refused before it is unpacked, with what would fit; so
// is what is packed behind a picture.
func TestPicturesRefused(t *testing.T) {
	var p, deep, colour bytes.Buffer
	must(t, png.Encode(&p, image.NewGray(image.Rect(0, 0, 6000, 4001))))
	must(t, png.Encode(&deep, image.NewGray16(image.Rect(0, 0, 3000, 2001))))
	must(t, png.Encode(&colour, image.NewRGBA(image.Rect(0, 0, 20, 10))))
	at := bytes.Index(colour.Bytes(), []byte("IDAT"))
	n := int(binary.BigEndian.Uint32(colour.Bytes()[at-4:]))
	packed := func(body []byte) []byte { // its points replaced
		b := binary.BigEndian.AppendUint32(bytes.Clone(colour.Bytes()[:at-4]), uint32(len(body)))
		b = append(append(b, "IDAT"...), body...)
		b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[at:]))
		return append(b, colour.Bytes()[at+4+n+4:]...)
	}
	own := colour.Bytes()[at+4 : at+4+n]
	if _, _, err := reencode(bytes.NewReader(packed(own))); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		b    []byte
		says string
	}{
		"large":                     {p.Bytes(), "6000 by 4001 points; allowed up to 24 million"},
		"deep":                      {deep.Bytes(), "3000 by 2001 points; allowed up to 6 million in such colours"},
		"by degrees":                {byDegrees(4000, 2001, 2), "allowed up to 8 million in a JPEG that comes by degrees"},
		"over and over":             {byDegrees(100, 100, 1000), "more than 30 times: save it anew"},
		"a word behind the picture": {packed(append(bytes.Clone(own), "52.1 N"...)), "damaged"},
		"a row too few":             {packed(own[:len(own)-9]), "damaged"},
	} {
		if _, _, err := reencode(bytes.NewReader(c.b)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; want %q", name, err, c.says)
		}
	}
}

// A PNG of every kind is kept as it looks, without what else is in it.
func TestPNGOfEveryKind(t *testing.T) {
	r := image.Rect(0, 0, 19, 7)
	pal := image.NewPaletted(r, color.Palette{color.NRGBA{1, 2, 3, 90}, color.White, color.Black})
	for _, img := range []draw.Image{image.NewGray(r), image.NewGray16(r), image.NewRGBA(r), image.NewNRGBA(r), image.NewNRGBA64(r), pal} {
		for i := range 19 * 7 {
			img.Set(i%19, i/19, color.NRGBA{uint8(i), uint8(3 * i), uint8(i * i), uint8(255 - i%2*i)})
		}
		var b bytes.Buffer
		must(t, png.Encode(&b, img))
		note := append(binary.BigEndian.AppendUint32(nil, 9), "tEXtLatitude9"...)
		note = binary.BigEndian.AppendUint32(note, crc32.ChecksumIEEE(note[4:]))
		in := slices.Concat(b.Bytes()[:33], note, b.Bytes()[33:], []byte("behind"))
		out, mime, err := reencode(bytes.NewReader(in))
		if err != nil || mime != "image/png" || bytes.Contains(out, []byte("Latitude")) || bytes.Contains(out, []byte("behind")) {
			t.Fatalf("%T: %v, %s", img, err, mime)
		}
		was, err := png.Decode(bytes.NewReader(b.Bytes()))
		must(t, err)
		is, err := png.Decode(bytes.NewReader(out))
		must(t, err)
		for i := range 19 * 7 {
			if was.At(i%19, i/19) != is.At(i%19, i/19) {
				t.Fatalf("%T: point %d is %v, was %v", img, i, is.At(i%19, i/19), was.At(i%19, i/19))
			}
		}
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

// What is said of a picture that was brought down is read back from it, and from nothing else.
func TestReducedFrom(t *testing.T) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 3, 2)), nil); err != nil {
		t.Fatal(err)
	}
	want := Reduced{Wide: 6000, High: 4000, Bytes: 8_388_608}
	marked := want.mark(b.Bytes())
	if got, ok := ReducedFrom(marked); !ok || got != want {
		t.Errorf("%v %v", got, ok)
	}
	if img, err := jpeg.Decode(bytes.NewReader(marked)); err != nil || img.Bounds().Dx() != 3 {
		t.Errorf("marked it is no picture: %v", err)
	}
	for n := range marked {
		if r, ok := ReducedFrom(marked[:n]); ok && r != want {
			t.Errorf("cut at %d: %v", n, r)
		}
	}
	for _, none := range [][]byte{nil, b.Bytes(), {0xFF, 0xD8, 0xFF, 0xFE, 0, 0}, {0xFF, 0xD8, 0xFF, 0xFE, 0, 1, 9}, Reduced{}.mark(b.Bytes())} {
		if r, ok := ReducedFrom(none); ok {
			t.Errorf("of % x it says %v", none[:min(len(none), 8)], r)
		}
	}
}
