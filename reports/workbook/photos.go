package workbook

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"math"
	"slices"
	"strings"
	"time"

	"retrostage/reports/photo"
	"retrostage/reports/record"
	"retrostage/reports/workbook/sheetfile"

	"github.com/xuri/excelize/v2"
)

const photoSheet = "Photos"

// What the sheet of photos holds: each brought down to a size at which a plate can be
// read, and of all of them no more than a workbook that is mailed.
const (
	photoSide   = 1000                                      // points of the longer side
	photoShown  = 460                                       // of these on the screen, and at most so high
	maxPhotos   = 60                                        // shown
	maxPhotoSum = 8 << 20                                   // bytes of all that are shown
	photoRow    = 15.0                                      // points of height, 20 pixels
	leftWithJob = "not shown here: the sheet has room for " // and so many
)

// Photo is a picture of the job as the workbook shows it. What the seal says of it is
// its words and the digest of the bytes.
type Photo struct {
	Name   string    `json:"name"`
	Step   string    `json:"step,omitempty"`
	By     string    `json:"by,omitempty"`
	At     time.Time `json:"at,omitzero"`
	Digest string    `json:"digest,omitempty"` // SHA-256 in hex of what is shown, "" where nothing is
	Why    string    `json:"why,omitempty"`    // that nothing is shown
	Wide   int       `json:"wide,omitempty"`
	High   int       `json:"high,omitempty"`

	jpeg []byte
}

// PhotoOf is a picture of a job, brought down to what a workbook shows; err is why it
// cannot be had.
func PhotoOf(name string, step record.Step, by string, at time.Time, raw []byte, err error) Photo {
	p := Photo{Name: name, By: by, At: at.Round(0).Truncate(time.Second), Step: "the job"}
	if info, ok := step.Info(); ok {
		p.Step = info.Title
	}
	var size image.Point
	if err == nil {
		p.jpeg, size, err = photo.JPEG(raw, photoSide)
	}
	if err != nil {
		p.Why, p.jpeg = "not shown: "+err.Error(), nil
		return p
	}
	p.Digest, p.Wide, p.High = digest(p.jpeg), size.X, size.Y
	return p
}

// roomFor leaves out the pictures, not the words, of those that are too many.
func roomFor(ps []Photo) []Photo {
	out, n, sum := slices.Clone(ps), 0, 0
	for i := range out {
		p := &out[i]
		if p.Digest == "" || p.jpeg == nil { // settled when it was written first
			continue
		}
		if n, sum = n+1, sum+len(p.jpeg); n > maxPhotos || sum > maxPhotoSum {
			p.Digest, p.jpeg, p.Wide, p.High = "", nil, 0, 0
			p.Why = leftWithJob + fmt.Sprintf("%d photos of %d MB in all; the job has it", maxPhotos, maxPhotoSum>>20)
			sum = maxPhotoSum // nothing smaller that follows is shown in its place
		}
	}
	return out
}

// embedded tells whether the pictures that the seal names are at hand.
func embedded(ps []Photo) error {
	for i, p := range ps {
		if p.Digest != "" && digest(p.jpeg) != p.Digest {
			return fmt.Errorf("photo %d is not at hand", i+1)
		}
	}
	return nil
}

// photosPage shows the pictures, nil where there are none.
func (b *book) photosPage() *page {
	if len(b.opts.Photos) == 0 {
		return nil
	}
	p := newPage(photoSheet, "Photos", 6, 40, 22, 20, 18)
	row := b.banner(p, 5)
	for i, h := range []string{"No.", "File", "Step", "By", "Taken in"} {
		p.text(row, i+1, head, h)
	}
	row++
	b.photoAt = make([]int, len(b.opts.Photos))
	for i, x := range b.opts.Photos {
		p.number(row, 1, figure, float64(i+1), "0")
		p.text(row, 2, wrapped, x.Name)
		p.fit(row, 2, 2, x.Name, wrapped)
		for c, s := range []string{x.Step, x.By, x.At.Format("2006-01-02 15:04")} {
			p.text(row, c+3, wrapped, s)
		}
		row++
		if x.Digest == "" {
			p.text(row, 2, note, x.Why)
			p.span(row, 2, 5)
			p.fit(row, 2, 5, x.Why, note)
			row += 2
			continue
		}
		b.photoAt[i] = row
		for range int(math.Ceil(float64(x.High)*shrunk(x)/20)) + 1 {
			p.text(row, 1, note, "")
			p.heights[row] = photoRow
			row++
		}
	}
	p.finish = func(f *excelize.File, p *page) error {
		for i, x := range b.opts.Photos {
			if x.jpeg == nil {
				continue
			}
			s := shrunk(x)
			if err := f.AddPictureFromBytes(p.name, ref(b.photoAt[i], 2), &excelize.Picture{Extension: ".jpg", File: x.jpeg,
				Format: &excelize.GraphicOptions{AltText: fmt.Sprintf("Photo %d: %s, %s", i+1, x.Name, x.Step), ScaleX: s, ScaleY: s, OffsetY: 3, Positioning: "oneCell", LockAspectRatio: true}}); err != nil {
				return err
			}
		}
		return nil
	}
	return p
}

// shrunk is by how much a photo is shown smaller than it is.
func shrunk(x Photo) float64 {
	return math.Min(1, math.Min(photoShown/float64(max(1, x.High)), 1.4*photoShown/float64(max(1, x.Wide))))
}

// photoLines are what the list of all that is shown says of the photos, whether their
// bytes are at hand or not: a workbook is rebuilt from its record, which has none.
func (b *book) photoLines() (out []string) {
	for i, x := range b.opts.Photos {
		if x.Digest != "" {
			out = append(out, photoSheet+"!"+ref(b.photoAt[i], 2)+"\tpicture\t"+x.Digest)
		}
	}
	return out
}

// isPhoto tells a line about a picture of the sheet of photos.
func isPhoto(line string) bool {
	place, what, _ := cut(line)
	return what == "picture" && strings.HasPrefix(place, photoSheet+"!")
}

// takePhotos takes the pictures out of a workbook whose photos are those that were sealed.
func (out *Reading) takePhotos(f *sheetfile.File) error {
	if !slices.ContainsFunc(out.Photos, func(p Photo) bool { return p.Digest != "" }) {
		return nil
	}
	ps, err := f.Pictures(photoSheet)
	if err != nil {
		return err
	}
	by := map[string][]byte{}
	for _, b := range ps {
		h := sha256.Sum256(b)
		by[hex.EncodeToString(h[:])] = b
	}
	for i := range out.Photos {
		out.Photos[i].jpeg = by[out.Photos[i].Digest]
	}
	return nil
}
