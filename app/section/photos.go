package section

import (
	"context"
	"fmt"
	"image"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/photo"
	"retrostage/reports/store"
)

// Photos are the pictures of the job, and how their bytes are come by, beside the
// toolkit's thread.
type Photos struct {
	All  []store.Attachment
	Read func(a store.Attachment) ([]byte, error)

	Offered []string          // paths of photos that came into the folder of a camera
	Settle  func(path string) // one of them was kept, or is let go
}

// of lists those of a step.
func (f Photos) of(step string) (out []store.Attachment) {
	for _, a := range f.All {
		if a.For == step {
			out = append(out, a)
		}
	}
	return out
}

// thumb is a photo, small, or why it cannot be shown.
type thumb struct {
	At   store.Attachment
	Path string // of one that is offered
	Img  image.Image
	Half string // that not all of its points are kept, "" where they are
	Fail string
}

// mostOffered is how many that came are shown at once, the oldest first.
const mostOffered = 4

// offers are those that came, small.
func offers(f Photos) (out []thumb) {
	for _, path := range f.Offered[:min(len(f.Offered), mostOffered)] {
		t := thumb{Path: path}
		b, err := archive.Read(path, store.MaxPicture)
		if err == nil {
			t.Img, err = photo.Small(b, thumbSide)
		}
		if err != nil {
			t.Fail = err.Error()
		}
		out = append(out, t)
	}
	return out
}

// Sizes to which photos are brought down, in points.
const (
	thumbSide = 240
	photoSide = 1400
)

// photos shows the pictures taken at the step and takes in more: from a file, or dropped
// on the window.
func photos(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	said := widget.NewWords("", theme.Small+0.5, false, theme.Muted)
	came := widget.NewColumn(6, 0)
	objects := []fyne.CanvasObject{body, came, said}
	said.Hide()
	take := func(path string, then func()) {
		said.Tone = theme.Muted
		said.Set("Taking in the photo")
		said.Show()
		p.reflow()
		p.Attach(path, func(err error) {
			said.Tone = theme.Muted
			said.Set("Kept, without what the file said of place and camera.")
			if err != nil {
				said.Tone = theme.Bad
				said.Set("Not kept: " + err.Error())
			} else if then != nil {
				then()
			}
			p.reflow()
		})
	}
	if browse := p.BrowsePicture(); browse != nil {
		add := widget.NewTap("Add a photo of this step", func() {
			p.Leave()
			browse(func(path string) { take(path, nil) })
		})
		add.Px = theme.Small + 0.5
		objects = append(objects, add)
	}
	return newSection("photos", objects,
		func(in Input) string {
			var names []string
			for _, a := range in.Photos.of(string(p.Info.Step)) {
				names = append(names, a.Hash+a.Name)
			}
			return strings.Join(append(names, in.Photos.Offered...), "\n")
		},
		func(ctx context.Context, in Input) (out []thumb) {
			for _, a := range in.Photos.of(string(p.Info.Step)) {
				if ctx.Err() != nil {
					return nil
				}
				b, err := in.Photos.Read(a)
				t := thumb{At: a}
				if err == nil {
					t.Half = halfOf(b)
					t.Img, err = photo.Small(b, thumbSide)
				}
				if err != nil {
					t.Fail = err.Error()
				}
				out = append(out, t)
			}
			return append(out, offers(in.Photos)...)
		},
		func(ts []thumb) {
			here := slices.IndexFunc(ts, func(t thumb) bool { return t.Path != "" })
			if here < 0 {
				here = len(ts)
			}
			widget.Refill(came, func() { p.cameHere(came, ts[here:], take) })
			ts = ts[:here]
			widget.Refill(body, func() {
				if len(ts) > 0 {
					body.Add(widget.NewHeading(fmt.Sprintf("Photos of this step: %d", len(ts))))
				}
				for _, t := range ts {
					p.thumb(body, t)
				}
			})
			p.reflow()
		})
}

func (p *Pane) thumb(body *fyne.Container, t thumb) {
	if t.Fail != "" {
		body.Add(widget.NewWords(t.At.Name+": "+t.Fail, theme.Small+0.5, false, theme.Warning))
		return
	}
	body.Add(atSize(t.Img))
	if t.Half != "" {
		body.Add(widget.NewWords(t.Half, theme.Small+0.5, false, theme.Warning))
	}
	look := widget.NewTap("Look at "+t.At.Name, func() { p.look(t.At) })
	look.Px = theme.Small + 0.5
	body.Add(look)
}

// halfOf says that a picture is kept with fewer points than its file had.
func halfOf(b []byte) string {
	r, ok := store.ReducedFrom(b)
	if !ok {
		return ""
	}
	half := func(n int) int { return (n + 1) / 2 }
	return fmt.Sprintf("Kept with half as many points each way, %d x %d of %d x %d: so dense a picture (%.1f MB) takes too long to read. The original stays where it was.",
		half(r.Wide), half(r.High), r.Wide, r.High, float64(r.Bytes)/1e6)
}

// cameHere are the photos that came into the camera's folder, each with a key that keeps it
// with the step and one that lets it go.
func (p *Pane) cameHere(body *fyne.Container, ts []thumb, take func(path string, then func())) {
	if len(ts) == 0 {
		return
	}
	from := p.Photos()
	body.Add(widget.NewHeading("Came into the camera's folder, not kept yet"))
	for _, t := range ts {
		name := filepath.Base(t.Path)
		key := func(words string, do func()) {
			k := widget.NewTap(words, do)
			k.Px = theme.Small + 0.5
			body.Add(k)
		}
		if t.Fail != "" {
			body.Add(widget.NewWords(name+": "+t.Fail, theme.Small+0.5, false, theme.Warning))
		} else {
			body.Add(atSize(t.Img))
			key("Keep "+name+" with this step", func() {
				p.Leave()
				take(t.Path, func() { from.Settle(t.Path) })
			})
		}
		key("Leave "+name, func() { from.Settle(t.Path) })
	}
	if n := len(from.Offered) - len(ts); n > 0 {
		body.Add(widget.NewWords(fmt.Sprintf("And %d more, one after another.", n), theme.Small+0.5, false, theme.Muted))
	}
}

// atSize is an image at its own size.
func atSize(img image.Image) fyne.CanvasObject {
	c := canvas.NewImageFromImage(img)
	c.FillMode = canvas.ImageFillContain
	c.SetMinSize(fyne.NewSize(float32(img.Bounds().Dx()), float32(img.Bounds().Dy())))
	return c
}

// look shows a photo as large as the sheet.
func (p *Pane) look(a store.Attachment) {
	p.Sheet(900, 700, func(shut func()) fyne.CanvasObject {
		said := widget.NewWords("Reading the photo", theme.Small+0.5, false, theme.Muted)
		col := widget.NewColumn(6, 12, widget.NewWords(a.Name, theme.Text, true, theme.Ink), said)
		page := widget.NewScroller(col)
		from := p.Photos()
		var work widget.Latest
		work.Now = p.Inline()
		work.Ask(func() func() {
			img, err := small(from, a, photoSide)
			return func() {
				if err != nil {
					said.Tone = theme.Bad
					said.Set("It cannot be shown: " + err.Error())
					page.Reflow()
					return
				}
				said.Hide()
				c := canvas.NewImageFromImage(img)
				c.FillMode = canvas.ImageFillContain
				c.SetMinSize(fyne.NewSize(600, 460))
				col.Add(c)
				page.Reflow()
			}
		})
		col.Add(widget.NewTap("Back to the step", shut))
		return page
	})
}

// small is a photo brought down so that no side is longer than most.
func small(from Photos, a store.Attachment, most int) (image.Image, error) {
	b, err := from.Read(a)
	if err != nil {
		return nil, err
	}
	return photo.Small(b, most)
}
