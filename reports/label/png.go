package label

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"rsc.io/qr"
)

// dotsPerMetre is 300 to the inch, a usual label printer's. It stands in the file, so
// that it is printed at true size.
const dotsPerMetre = 11811

func dots(mm float64) int { return int(math.Round(mm * dotsPerMetre / 1000)) }

// sheet is a label being painted.
type sheet struct {
	*image.Gray
	regular, bold font.Face
}

// WritePNG writes the label as a picture at true size. Text that does not fit is an
// error.
func WritePNG(w io.Writer, j *record.Job, r *assess.Report) error {
	lines := Lines(j, r)
	code, err := qr.Encode(strings.Join(lines, "\n"), qr.L)
	if err != nil {
		return fmt.Errorf("label of job %s: its text is too long for a code: %w", j.ID, err)
	}
	s, err := newSheet()
	if err != nil {
		return err
	}
	s.frame()
	y := dots(margin)
	for i, l := range lines {
		face := s.regular
		if i == 0 || strings.HasPrefix(l, "CONVERTED") {
			face = s.bold
		}
		y = s.paragraph(l, face, y, dots(Width-3*margin-codeSide)) + dots(1)
	}
	if y > dots(Height-margin) {
		return fmt.Errorf("label of job %s: the text does not fit", j.ID)
	}
	s.code(code)
	var b bytes.Buffer
	if err := png.Encode(&b, s.Gray); err != nil {
		return err
	}
	_, err = w.Write(withSize(b.Bytes()))
	return err
}

func newSheet() (*sheet, error) {
	s := &sheet{Gray: image.NewGray(image.Rect(0, 0, dots(Width), dots(Height)))}
	draw.Draw(s, s.Bounds(), image.White, image.Point{}, draw.Src)
	for _, f := range []struct {
		ttf []byte
		to  *font.Face
	}{{goregular.TTF, &s.regular}, {gobold.TTF, &s.bold}} {
		parsed, err := opentype.Parse(f.ttf)
		if err != nil {
			return nil, err
		}
		if *f.to, err = opentype.NewFace(parsed, &opentype.FaceOptions{Size: 8.5, DPI: dotsPerMetre * 0.0254, Hinting: font.HintingFull}); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *sheet) fill(x0, y0, x1, y1 int) {
	draw.Draw(s, image.Rect(x0, y0, x1, y1), image.Black, image.Point{}, draw.Src)
}

// frame is the rule about the label.
func (s *sheet) frame() {
	e, t := dots(1.5), dots(0.2)
	w, h := s.Bounds().Dx(), s.Bounds().Dy()
	s.fill(e, e, w-e, e+t)
	s.fill(e, h-e-t, w-e, h-e)
	s.fill(e, e, e+t, h-e)
	s.fill(w-e-t, e, w-e, h-e)
}

// paragraph writes text broken at spaces, from y down, and returns where it ends. A
// word wider than the column is broken where it has to be.
func (s *sheet) paragraph(text string, face font.Face, y, wide int) int {
	const lead = 4.2 // mm
	d := font.Drawer{Dst: s, Src: image.NewUniform(color.Gray{}), Face: face}
	put := func(l string) {
		d.Dot = fixed.P(dots(margin), y+dots(lead*0.75))
		d.DrawString(l)
		y += dots(lead)
	}
	line := ""
	for _, word := range strings.Fields(text) {
		for {
			next := strings.TrimPrefix(line+" "+word, " ")
			if d.MeasureString(next).Ceil() <= wide {
				line = next
				break
			}
			if line != "" {
				put(line)
				line = ""
				continue
			}
			rs := []rune(word)
			n := len(rs) - 1
			for n > 1 && d.MeasureString(string(rs[:n])).Ceil() > wide {
				n--
			}
			put(string(rs[:n]))
			word = string(rs[n:])
		}
	}
	if line != "" {
		put(line)
	}
	return y
}

// code draws the code in whole dots, with its quiet zone of four modules, so that no
// module is blurred.
func (s *sheet) code(c *qr.Code) {
	step := dots(codeSide) / (c.Size + 8)
	side := step * (c.Size + 8)
	x0 := dots(Width-margin) - (dots(codeSide)+side)/2
	y0 := (dots(Height) - side) / 2
	for y := range c.Size {
		for x := range c.Size {
			if c.Black(x, y) {
				s.fill(x0+step*(x+4), y0+step*(y+4), x0+step*(x+5), y0+step*(y+5))
			}
		}
	}
}

// withSize puts the chunk that tells dots per metre (pHYs: W3C PNG specification,
// 11.3.4.3, from memory) behind the header, which is the first chunk and 25 bytes long.
func withSize(file []byte) []byte {
	const head = 8 + 25
	body := make([]byte, 0, 13)
	body = append(body, "pHYs"...)
	body = binary.BigEndian.AppendUint32(body, dotsPerMetre)
	body = binary.BigEndian.AppendUint32(body, dotsPerMetre)
	body = append(body, 1)
	out := append([]byte{}, file[:head]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(body)-4))
	out = append(out, body...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(body))
	return append(out, file[head:]...)
}
