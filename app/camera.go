package app

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// camera watches a folder that a camera or a phone fills. What appears there while the
// program runs is offered to the step at hand; nothing is taken without a touch, and what
// lay there before is not asked about.
type camera struct {
	dir     string
	known   map[string]mark // by name: there before, taken, or let go
	growing map[string]mark // as it was a moment ago: it may still be on its way
	offered []string        // paths, the oldest first
	failed  string          // why the folder cannot be looked into
	last    time.Time
}

// mark tells a file from what was there by its name before.
type mark struct {
	size int64
	mod  time.Time
}

const (
	cameraEvery = 3 * time.Second
	cameraMost  = 20_000 // files of a folder that are looked at
)

// watch looks into the folder where a look is due, beside the toolkit's thread.
func (b *Bench) watch() {
	c := &b.camera
	if dir := b.own.Camera; dir != c.dir {
		*c = camera{dir: dir}
		b.offerPhotos()
	}
	if c.dir == "" || b.keep.jobs == nil || b.readOnly != nil || b.now().Sub(c.last) < cameraEvery && !b.now().Before(c.last) {
		return
	}
	c.last = b.now()
	b.looking.Now = b.assessing.Now
	dir := c.dir
	b.looking.Ask(func() func() {
		there, err := photosIn(dir)
		return func() {
			had := len(c.offered)
			if c.dir != dir || !c.saw(there, err) {
				return
			}
			if len(c.offered) > had {
				b.notice = "Photos came: below the entries. "
				b.window.paintBar()
			}
			b.offerPhotos()
		}
	})
}

// photosIn are the files of a folder that may be photos.
func photosIn(dir string) (map[string]mark, error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	list, err := f.ReadDir(cameraMost)
	if err != nil && len(list) == 0 && err.Error() != "EOF" {
		return nil, err
	}
	out := map[string]mark{}
	for _, e := range list {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if !e.Type().IsRegular() || ext != ".jpg" && ext != ".jpeg" && ext != ".png" {
			continue
		}
		if i, err := e.Info(); err == nil {
			out[e.Name()] = mark{i.Size(), i.ModTime()}
		}
	}
	return out, nil
}

// saw takes in what a look found, and tells whether that changes what is offered.
func (c *camera) saw(there map[string]mark, err error) bool {
	was, failed := slices.Clone(c.offered), c.failed
	if c.failed = ""; err != nil {
		c.failed = err.Error()
		return c.failed != failed
	}
	if c.known == nil {
		c.known, c.growing = there, map[string]mark{}
		return failed != ""
	}
	c.offered = slices.DeleteFunc(c.offered, func(p string) bool { _, still := there[filepath.Base(p)]; return !still })
	var fresh []string
	for name, m := range there {
		if c.known[name] == m {
			continue
		}
		if c.growing[name] == m && m.size > 0 { // as it was at the look before: it is whole
			delete(c.growing, name)
			c.known[name] = m
			fresh = append(fresh, name)
			continue
		}
		c.growing[name] = m
	}
	slices.SortFunc(fresh, func(a, b string) int {
		return cmp.Or(there[a].mod.Compare(there[b].mod), strings.Compare(a, b))
	})
	for _, name := range fresh {
		if p := filepath.Join(c.dir, name); !slices.Contains(c.offered, p) {
			c.offered = append(c.offered, p)
		}
	}
	return !slices.Equal(was, c.offered) || failed != ""
}

// settle takes a photo off what is offered: it was kept, or let go.
func (b *Bench) settle(path string) {
	b.notice = ""
	b.camera.offered = slices.DeleteFunc(b.camera.offered, func(p string) bool { return p == path })
	b.offerPhotos()
}

// offerPhotos shows what is offered at the step on show.
func (b *Bench) offerPhotos() {
	b.input.Photos = b.Photos()
	if p := b.panes[b.at]; p != nil {
		p.Offer(b.input)
	}
}

// cameraSays is how the folder stands, for its setting.
func (b *Bench) cameraSays() string {
	switch c := &b.camera; {
	case b.own.Camera == "":
		return "None: photos are added at the step, or dropped on the window."
	case c.failed != "":
		return "It cannot be looked into: " + c.failed
	case len(c.offered) > 0:
		return fmt.Sprintf("%d photos that came there are offered at the steps.", len(c.offered))
	}
	return "What appears there from now on is offered at the step that is open, and kept only at a touch."
}
