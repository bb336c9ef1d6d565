package store

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"retrostage/reports/photo"
)

// Sizes beyond which a picture is refused.
const (
	MaxPicture = 20 << 20
	MaxPixels  = photo.MaxPixels
	maxDense   = 5 << 20 // of a JPEG of more than half as many points
)

// Attachment is a picture of a job; the store holds its bytes once, by their hash.
type Attachment struct {
	Hash string `json:"hash"` // SHA-256 in hex of the bytes kept
	Name string `json:"name"` // as the person's file was called
	Mime string `json:"mime"`
	Size int    `json:"size"`
	For  string `json:"for,omitempty"` // a field or step it belongs to
	Key  string `json:"key,omitempty"` // the key it is encrypted with

	By string    `json:"by,omitempty"` // who took it in, and when: its event's, whatever it says itself
	At time.Time `json:"at,omitzero"`
}

func (a Attachment) check() error {
	b, err := hex.DecodeString(a.Hash)
	switch {
	case err != nil || len(b) != sha256.Size:
		return fmt.Errorf("%q is no hash", a.Hash)
	case a.Key != "" && !isID(a.Key):
		return fmt.Errorf("%.40q is no key", a.Key)
	case a.Mime != "image/jpeg" && a.Mime != "image/png":
		return fmt.Errorf("a picture of the kind %q", a.Mime)
	case a.Size < 1 || a.Size > 2*MaxPicture || len(a.Name) > 255 || len(a.For) > 255 || !utf8.ValidString(a.Name+a.For):
		return errors.New("a picture of such size or name cannot be")
	}
	return nil
}

// reencode is a picture without all that is not picture: position, time, camera. A
// JPEG is encoded anew, and turned where a phone marked it as turned; a PNG loses its
// other parts.
func reencode(in io.Reader) (b []byte, mime string, err error) {
	raw, err := io.ReadAll(io.LimitReader(in, MaxPicture+1))
	if err != nil {
		return nil, "", err
	}
	if len(raw) > MaxPicture {
		return nil, "", fmt.Errorf("the picture is larger than %d MB", MaxPicture>>20)
	}
	if err := photo.Fits(raw); errors.Is(err, photo.ErrNone) {
		return nil, "", errors.New("it is no picture that can be read: JPEG or PNG")
	} else if err != nil {
		return nil, "", err
	}
	if bytes.HasPrefix(raw, []byte(pngMark)) {
		if b, err = barePNG(raw); err != nil {
			return nil, "", fmt.Errorf("the picture is damaged: %w", err)
		}
		return b, "image/png", nil
	}
	img, err := jpeg.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, "", fmt.Errorf("the picture is damaged: %w", err)
	}
	// Many points full of detail take more than a second to encode anew: half as many each
	// way are kept of them, still more than any sheet or screen shows.
	var was *Reduced
	if r := img.Bounds(); len(raw) > maxDense && r.Dx()*r.Dy() > MaxPixels/2 {
		img = halved(img)
		was = &Reduced{Wide: r.Dx(), High: r.Dy(), Bytes: len(raw)}
		if orientation(raw) > 4 { // lies on its side
			was.Wide, was.High = was.High, was.Wide
		}
	}
	var out bytes.Buffer
	err = jpeg.Encode(&out, turned(img, orientation(raw)), &jpeg.Options{Quality: 85})
	if err == nil && was != nil {
		out = *bytes.NewBuffer(was.mark(out.Bytes()))
	}
	if err == nil && out.Len() > 2*MaxPicture {
		err = errors.New("the picture is too large")
	}
	return out.Bytes(), "image/jpeg", err
}

// Reduced is what a picture's file was of which fewer points are kept. It stands in the
// picture itself, as a comment of the format, so that it goes wherever that goes.
type Reduced struct{ Wide, High, Bytes int }

const reducedMark = "retrostage, half of: "

// mark puts it behind the first two bytes of a JPEG.
func (r Reduced) mark(b []byte) []byte {
	text := fmt.Sprintf("%s%d x %d, %d bytes", reducedMark, r.Wide, r.High, r.Bytes)
	n := len(text) + 2
	return slices.Concat(b[:2], []byte{0xFF, 0xFE, byte(n >> 8), byte(n)}, []byte(text), b[2:])
}

// ReducedFrom tells of what a kept picture is a half; ok is false where it is whole.
func ReducedFrom(b []byte) (r Reduced, ok bool) {
	if len(b) < 6 || !bytes.HasPrefix(b, []byte{0xFF, 0xD8, 0xFF, 0xFE}) {
		return r, false
	}
	n := int(b[4])<<8 | int(b[5])
	if n < 2 || len(b) < 4+n {
		return r, false
	}
	text, ours := bytes.CutPrefix(b[6:4+n], []byte(reducedMark))
	if !ours {
		return r, false
	}
	got, err := fmt.Sscanf(string(text), "%d x %d, %d bytes", &r.Wide, &r.High, &r.Bytes)
	return r, err == nil && got == 3 && r.Wide > 0 && r.High > 0 && r.Bytes > 0
}

// halved is a photo with every four points of a plane made one.
func halved(img image.Image) image.Image {
	half := func(n int) int { return (n + 1) / 2 }
	plane := func(to []byte, toStride int, of []byte, ofStride, w, h int) {
		for y := range half(h) {
			a, b := of[2*y*ofStride:], of[min(2*y+1, h-1)*ofStride:]
			row := to[y*toStride : y*toStride+half(w)]
			for x := range w / 2 {
				row[x] = byte((int(a[2*x]) + int(a[2*x+1]) + int(b[2*x]) + int(b[2*x+1]) + 2) / 4)
			}
			if w%2 == 1 {
				row[w/2] = a[w-1]
			}
		}
	}
	r := img.Bounds()
	size := image.Rect(0, 0, half(r.Dx()), half(r.Dy()))
	switch in := img.(type) {
	case *image.Gray:
		out := image.NewGray(size)
		plane(out.Pix, out.Stride, in.Pix, in.Stride, r.Dx(), r.Dy())
		return out
	case *image.YCbCr:
		cw, ch := r.Dx(), r.Dy()
		switch in.SubsampleRatio {
		case image.YCbCrSubsampleRatio444:
		case image.YCbCrSubsampleRatio422:
			cw = half(cw)
		case image.YCbCrSubsampleRatio440:
			ch = half(ch)
		case image.YCbCrSubsampleRatio420:
			cw, ch = half(cw), half(ch)
		default:
			return img
		}
		out := image.NewYCbCr(size, in.SubsampleRatio)
		plane(out.Y, out.YStride, in.Y, in.YStride, r.Dx(), r.Dy())
		plane(out.Cb, out.CStride, in.Cb, in.CStride, cw, ch)
		plane(out.Cr, out.CStride, in.Cr, in.CStride, cw, ch)
		return out
	}
	return img
}

// Attach keeps a picture with a job, its position data and the like left out. of is
// the field or step it belongs to.
func (l *Local) Attach(job, who, name, of string, in io.Reader) (Attachment, error) {
	b, mime, err := reencode(in)
	if err != nil {
		return Attachment{}, fmt.Errorf("%s: %w", name, err)
	}
	l.mu.Lock()
	a, err := l.keepPicture(job, name, mime, of, b)
	l.mu.Unlock()
	if err != nil {
		return a, fmt.Errorf("%s: %w", name, err)
	}
	kept := a
	a.By, a.At = who, l.now()
	return a, l.act(job, who, change{kind: Attached, key: a.Key, when: a.At, p: payload{Attachment: &kept}})
}

// keepPicture puts the bytes in, encrypted: a picture without an event is no harm, the
// reverse would be.
func (l *Local) keepPicture(job, name, mime, of string, b []byte) (a Attachment, err error) {
	if err := l.takeOver(); err != nil {
		return a, err
	}
	s, err := l.state(job)
	if err != nil {
		return a, err
	}
	if s.Events == 0 {
		return a, ErrNone
	}
	if len(s.Attachments) >= MaxPictures {
		return a, fmt.Errorf("the job has %d pictures already, and more it does not hold", MaxPictures)
	}
	a = Attachment{Name: shortName(name), Mime: mime, For: of}
	if a.Key, err = l.keyFor(job); err != nil {
		return a, &writeError{l.path(), err}
	}
	if b, err = l.keys.seal(a.Key, job, b); err != nil {
		return a, err
	}
	h := sha256.Sum256(b)
	a.Hash, a.Size = hex.EncodeToString(h[:]), len(b)
	if err := a.check(); err != nil {
		return a, err
	}
	if _, err = l.db.Exec("INSERT OR IGNORE INTO attachments VALUES (?, ?, ?)", a.Hash, a.Mime, b); err != nil {
		return a, &writeError{l.path(), err}
	}
	return a, nil
}

// MaxPictures is how many a job holds.
const MaxPictures = 500

// shortName is the end of a file's name, as much as is kept of it.
func shortName(name string) string {
	name = strings.ToValidUTF8(filepath.Base(name), "")
	for len(name) > 255 {
		_, n := utf8.DecodeRuneInString(name)
		name = name[n:]
	}
	return name
}

// Picture is an attachment of a job as it can be shown. Bytes that are not those
// attached are an error.
func (l *Local) Picture(job string, a Attachment) ([]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	b, _, err := l.picture(a.Hash)
	if err != nil || a.Key == "" {
		return b, err
	}
	return l.keys.unseal(a.Key, job, b)
}

// raw is Picture as it is kept.
func (l *Local) raw(hash string) (b []byte, mime string, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.picture(hash)
}

func (l *Local) picture(hash string) (b []byte, mime string, err error) {
	err = l.db.QueryRow("SELECT data, mime FROM attachments WHERE hash = ?", hash).Scan(&b, &mime)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, "", errors.New("the picture is not on this tablet")
	}
	if h := sha256.Sum256(b); err == nil && hex.EncodeToString(h[:]) != hash {
		err = errors.New("the picture was damaged")
	}
	return b, mime, err
}

// takeAttachments copies the pictures of another database that are whole and not here.
func (l *Local) takeAttachments(from *sql.DB, t *Taken) error {
	rows, err := from.Query("SELECT hash, mime, data FROM attachments")
	if err != nil {
		return fmt.Errorf("pictures: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var hash, mime string
		var b []byte
		if rows.Scan(&hash, &mime, &b) != nil {
			t.Refused++
			continue
		}
		if h := sha256.Sum256(b); hex.EncodeToString(h[:]) != hash {
			t.Refused++
			continue
		}
		r, err := l.db.Exec("INSERT OR IGNORE INTO attachments VALUES (?, ?, ?)", hash, mime, b)
		if err != nil {
			return err
		}
		k, _ := r.RowsAffected()
		t.Attachments += int(k)
	}
	return rows.Err()
}

// orientation is how a JPEG says that it is turned: tag 274 of its EXIF block, 1 to 8;
// 1 where it says nothing. (Layout of the tag from memory of the published standard.)
func orientation(b []byte) int {
	for i := 2; i+4 <= len(b) && b[i] == 0xff && b[i+1] != 0xda; {
		n := int(b[i+2])<<8 | int(b[i+3])
		if n < 2 || i+2+n > len(b) {
			return 1
		}
		if seg := b[i+4 : i+2+n]; b[i+1] == 0xe1 && bytes.HasPrefix(seg, []byte("Exif\x00\x00")) {
			return exifTurn(seg[6:])
		}
		i += 2 + n
	}
	return 1
}

func exifTurn(t []byte) int {
	if len(t) < 8 {
		return 1
	}
	little := t[0] == 'I'
	num := func(at, n int) int {
		if at < 0 || at+n > len(t) {
			return 0
		}
		x := 0
		for k := range n {
			c := t[at+k]
			if little {
				c = t[at+n-1-k]
			}
			x = x<<8 | int(c)
		}
		return x
	}
	dir := num(4, 4)
	for k := range num(dir, 2) {
		at := dir + 2 + 12*k
		if at+12 > len(t) {
			break
		}
		if num(at, 2) == 274 {
			if v := num(at+8, 2); v >= 1 && v <= 8 {
				return v
			}
		}
	}
	return 1
}

// turned is img as it is to be looked at. What a JPEG holds is turned as it is held, a
// brightness and two colours of less detail: as single points a large photo would take
// seconds.
func turned(img image.Image, how int) image.Image {
	if how == 1 {
		return img
	}
	r := img.Bounds()
	w, h := r.Dx(), r.Dy()
	size := image.Rect(0, 0, w, h)
	if how >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	switch in := img.(type) {
	case *image.Gray:
		out := image.NewGray(size)
		turnPlane(out.Pix, out.Stride, in.Pix[in.PixOffset(r.Min.X, r.Min.Y):], in.Stride, w, h, how)
		return out
	case *image.YCbCr:
		ratio, cw, ch := in.SubsampleRatio, w, h
		switch {
		case ratio == image.YCbCrSubsampleRatio420:
			cw, ch = (w+1)/2, (h+1)/2
		case ratio == image.YCbCrSubsampleRatio422:
			cw = (w + 1) / 2
		case ratio == image.YCbCrSubsampleRatio440:
			ch = (h + 1) / 2
		}
		if how >= 5 {
			switch ratio {
			case image.YCbCrSubsampleRatio422:
				ratio = image.YCbCrSubsampleRatio440
			case image.YCbCrSubsampleRatio440:
				ratio = image.YCbCrSubsampleRatio422
			}
		}
		if ratio == image.YCbCrSubsampleRatio411 || ratio == image.YCbCrSubsampleRatio410 || r.Min != (image.Point{}) {
			break
		}
		out := image.NewYCbCr(size, ratio)
		turnPlane(out.Y, out.YStride, in.Y, in.YStride, w, h, how)
		turnPlane(out.Cb, out.CStride, in.Cb, in.CStride, cw, ch, how)
		turnPlane(out.Cr, out.CStride, in.Cr, in.CStride, cw, ch, how)
		return out
	}
	out := image.NewRGBA(size)
	for y := range size.Dy() {
		for x := range size.Dx() {
			X, Y := from(x, y, w, h, how)
			out.Set(x, y, img.At(r.Min.X+X, r.Min.Y+Y))
		}
	}
	return out
}

// turnPlane turns w by h bytes.
func turnPlane(to []byte, toStride int, of []byte, ofStride, w, h, how int) {
	W, H := w, h
	if how >= 5 {
		W, H = h, w
	}
	// Along a row of the turned picture the place in the other moves by as much each time.
	x0, y0 := from(0, 0, w, h, how)
	x1, y1 := from(1, 0, w, h, how)
	step := (y1-y0)*ofStride + x1 - x0
	for y := range H {
		X, Y := from(0, y, w, h, how)
		at := Y*ofStride + X
		row := to[y*toStride : y*toStride+W]
		for x := range row {
			row[x] = of[at]
			at += step
		}
	}
}

// from is where a point of the turned picture stood in one of w by h.
func from(x, y, w, h, how int) (X, Y int) {
	switch how {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}
