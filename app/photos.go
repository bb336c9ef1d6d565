package app

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"

	"retrostage/app/section"
	"retrostage/reports/store"
)

// Photos implements section.Host.
func (b *Bench) Photos() section.Photos {
	k, id := b.keep, b.job.ID
	return section.Photos{All: b.photos, Offered: slices.Clone(b.camera.offered), Settle: b.settle, Read: func(a store.Attachment) ([]byte, error) {
		if k.jobs == nil {
			return nil, errNoPhotos
		}
		return k.jobs.Picture(id, a)
	}}
}

var errNoPhotos = errors.New("a job in a file of its own holds no photos: import it first (retrostage jobs import)")

// BrowsePicture implements section.Host.
func (b *Bench) BrowsePicture() func(done func(path string)) { return b.pickPhoto }

// Attach takes in a photo for the step on show, beside the toolkit's thread.
func (b *Bench) Attach(path string, done func(err error)) {
	k, job, who, step := b.keep, b.job.Clone(), b.person, string(b.step().Step)
	switch {
	case b.readOnly != nil:
		done(b.readOnly)
		return
	case k.jobs == nil:
		done(errNoPhotos)
		return
	}
	b.saving.Ask(func() func() {
		var a store.Attachment
		err := b.waiting.write()
		if err == nil {
			if _, none := k.jobs.State(job.ID); errors.Is(none, store.ErrNone) { // its first entry is a photo
				err = k.jobs.Save(job, who)
			}
		}
		if err == nil {
			a, err = attach(k.jobs, job.ID, who, step, path)
		}
		return func() {
			if err == nil && b.job.ID == job.ID {
				b.photos = append(b.photos[:len(b.photos):len(b.photos)], a)
				b.savedAt = b.now()
				b.recalc()
				b.window.paintBar()
			}
			done(err)
		}
	})
}

func attach(k jobs, job, who, step, path string) (a store.Attachment, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return a, err
	}
	if !info.Mode().IsRegular() { // a pipe is not waited for
		return a, fmt.Errorf("%s is not a file", filepath.Base(path))
	}
	f, err := os.Open(path)
	if err != nil {
		return a, err
	}
	defer f.Close()
	return k.Attach(job, who, filepath.Base(path), step, f)
}

// dropped takes in the files that were dropped on the window.
func (b *Bench) dropped(files []fyne.URI) {
	b.Leave()
	kept := 0
	for _, u := range files {
		b.Attach(u.Path(), func(err error) {
			if err != nil {
				b.note = "Not kept: " + err.Error()
			} else {
				kept++
				b.notice = fmt.Sprintf("%d photos kept with this step. ", kept)
			}
			b.window.paintBar()
		})
	}
}
