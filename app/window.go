package app

import (
	"slices"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/thermo/units"
)

// window lays the window out: bar on top, route at the left, findings in the
// middle, entries at the right where the thumb is, keypad below them. Upright, the
// route folds into one line with a drawer, and the entries go below the findings.
type window struct {
	toolkit.BaseWidget
	b         *Bench
	route     *widget.Route
	pane      *section.Pane
	pad       *widget.Keypad
	letters   *widget.Letters
	padOn     bool          // keypad or letters lie there
	lettersOn bool          // letters, of the two
	padAt     fyne.Position // where it lies while it is open,
	padSize   fyne.Size     // how large,
	padFor    *widget.Row   // for which row,
	padIn     fyne.Size     // in a window of which size
	open      bool          // the drawer, upright
	alone     bool          // the middle was laid out without the entries

	jobs, who, system, sun, keys, help *widget.Tap
	undo, redo                         *widget.Tap // nothing where jobs are not kept as events
	title, status                      *widget.Words
	retry                              *widget.Tap
	here                               *widget.Tap
	back, next                         *widget.Tap
	drawer                             *widget.Scroller
	bars                               [5]*canvas.Rectangle // grounds and rules

	want     float32 // the height that the entries want, upright, as it was last shared out
	shared   fyne.Size
	sharedBy *section.Pane
}

func newWindow(b *Bench) *window {
	d := &window{b: b, pad: widget.NewKeypad()}
	d.route = widget.NewRoute(func(i int) {
		d.open = false
		b.Go(i)
		b.pane().LeadIn()
	})
	d.drawer = widget.NewScroller(d.route)
	d.pad.Shut = func() { d.aim(nil) }
	d.letters = widget.NewLetters()
	d.letters.Shut = func() { d.aim(nil) }
	d.jobs = widget.NewGlyphTap("list", "Jobs", func() { b.chooseJob() })
	d.undo = widget.NewGlyphTap("undo", "", func() { b.Back(false) })
	d.redo = widget.NewGlyphTap("redo", "", func() { b.Back(true) })
	d.who = widget.NewTap("who?", func() { b.askPerson() })
	d.system = widget.NewTap("IP", func() {
		if b.system == units.IP {
			b.SetSystem(units.SI)
		} else {
			b.SetSystem(units.IP)
		}
	})
	d.sun = widget.NewGlyphTap("moon", "", func() { b.SetDark(!b.dark) })
	d.help = widget.NewGlyphTap("help", "", func() { b.Help("") })
	d.keys = widget.NewGlyphTap("keys", "", func() {
		if b.keyboard { // the keys had stepped aside
			b.keyboard = false
			if r := b.active; r != nil && slices.Contains(d.pane.Rows, r) {
				r.Focus() // the touch took the cursor from it
			}
			d.paintBar()
			return
		}
		b.keys = !b.keys
		if !b.keys {
			d.aim(nil)
		}
		d.paintBar()
		b.Remember()
	})
	for _, t := range []*widget.Tap{d.jobs, d.undo, d.redo, d.who, d.system, d.sun, d.keys, d.help} {
		t.Flat = true
	}
	d.title = widget.NewWords("", theme.Text, true, theme.Ink)
	d.title.Max = 1
	d.status = widget.NewWords("", theme.Small, false, theme.Muted)
	d.status.Max = 1
	d.retry = widget.NewTap("Save again", b.again)
	d.here = widget.NewGlyphTap("list", "", func() {
		d.open = !d.open
		d.Refresh()
	})
	d.here.Flat = true
	d.back = widget.NewGlyphTap("left", "", func() { b.Go(b.at - 1) })
	d.next = widget.NewGlyphTap("right", "", func() { b.Go(b.at + 1) })
	for i := range d.bars {
		d.bars[i] = canvas.NewRectangle(nil)
	}
	d.ExtendBaseWidget(d)
	return d
}

// show puts a pane in the window; nil takes the one there away.
func (d *window) show(p *section.Pane) {
	d.pane = p
	d.alone = p != nil && p.Alone
	d.aimQuietly(nil)
	if p != nil {
		p.Side.Foot = 0
		p.Side.OnScroll = d.scrolled
		if p.Middle != nil {
			p.Middle.OnScroll = d.scrolled
		}
	}
	d.Refresh()
}

// aim points the keypad at a row, or puts it away.
func (d *window) aim(r *widget.Row) {
	was := d.padOn
	d.aimQuietly(r)
	if r != nil {
		d.padFor, d.padIn = r, d.Size()
		d.padAt, d.padSize = d.place(d.padIn, r)
	}
	if was != d.padOn || r != nil {
		d.layout(d.Size())
		d.Refresh()
	}
}

// scrolled puts the keys on the glass away when the row that they type into is out of sight:
// they would lie over fields that are looked at now, and a touch on one of those would type
// into the other. What was typed is entered.
func (d *window) scrolled() {
	r := d.padFor
	if !d.padOn || r == nil || r.Page == nil {
		return
	}
	if page := r.Page(); page != nil && !page.Shows(r) {
		d.b.Leave()
		d.aim(nil)
	}
}

// aside puts the keys on the glass away for whoever types into their row by a keyboard:
// they would only cover what is read and touched next. The key in the bar brings them back.
func (d *window) aside(r *widget.Row) {
	if !d.padOn || d.padFor != r {
		return
	}
	d.b.keyboard = true
	d.aim(nil)
	d.paintBar()
}

func (d *window) aimQuietly(r *widget.Row) {
	d.padOn = r != nil
	d.lettersOn = r != nil && r.Field.Kind != widget.NumberField
	if d.lettersOn {
		d.pad.Aim(nil)
		d.letters.Aim(r, func() {
			if r.OnNext != nil || r.OnMove != nil {
				r.End()
			} else {
				d.b.Leave()
				d.aim(nil)
			}
		})
		return
	}
	d.letters.Aim(nil, nil)
	d.pad.Aim(r)
}

// panel is what is typed with: the keypad or the letters.
func (d *window) panel() fyne.CanvasObject {
	if d.lettersOn {
		return d.letters
	}
	return d.pad
}

// place is where what is typed with lies for a row, and its size: over what is there, so
// that opening it moves no field, and never over the column in which the row stands. Where
// there is a middle it lies there, or over the entries for a row of the middle; else over
// the columns at one side of the row. Only letters find too little room for that on a
// small page without a middle: they then lie where they do not cover the row itself.
func (d *window) place(s fyne.Size, r *widget.Row) (at fyne.Position, pad fyne.Size) {
	const routeW, gap = 226, 8
	w, least := float32(400), float32(300)
	if d.lettersOn { // twice as many keys across
		w, least = 620, 520
	}
	at1 := func(x, w float32) (fyne.Position, fyne.Size) {
		pad := fyne.NewSize(w, widget.HeightAt(d.panel(), w))
		return fyne.NewPos(x, s.Height-pad.Height), pad
	}
	if middle := d.pane.Middle; middle != nil {
		p, z := middle.Position(), middle.Size()
		of := slices.Contains(d.pane.Rows, r)
		switch {
		case upright(s):
			w = fyne.Min(w, s.Width)
			if at, pad = at1(s.Width-w, w); of {
				at.Y = fyne.Max(barH, p.Y+z.Height-pad.Height)
			}
			return at, pad
		case of:
			w = fyne.Min(w, p.X+z.Width)
			return at1(p.X+z.Width-w, w)
		case !d.lettersOn && !d.pane.Alone:
			w = fyne.Max(least, s.Width-p.X-z.Width)
		}
		return at1(s.Width-w, w)
	}
	driver := fyne.CurrentApp().Driver()
	p := driver.AbsolutePositionForObject(r).Subtract(driver.AbsolutePositionForObject(d))
	edge := float32(0)
	if !upright(s) && p.X-routeW-gap >= least {
		edge = routeW
	}
	left, right := p.X-gap-edge, s.Width-p.X-r.Size().Width-gap
	switch {
	case right >= left && right >= least:
		w = fyne.Min(w, right)
		return at1(s.Width-w, w)
	case left >= least:
		w = fyne.Min(w, left)
		return at1(p.X-gap-w, w)
	}
	w = fyne.Min(w, s.Width)
	if at, pad = at1(s.Width-w, w); p.Y+r.Size().Height > at.Y {
		at.Y = barH
		if upright(s) {
			at.Y += foldH
		}
	}
	return at, pad
}

// putPad lays the keypad over what is there, and lets the entries be scrolled clear
// of it; that room stays until another step is shown, so that shutting it moves
// nothing either.
func (d *window) putPad(s fyne.Size) {
	side, middle := d.pane.Side, d.pane.Middle
	side.Covered = 0
	if middle != nil {
		middle.Covered = 0
	}
	if !d.padOn {
		return
	}
	if d.padIn != s && d.padFor != nil {
		d.padAt, d.padSize = d.place(s, d.padFor)
		d.padIn = s
	}
	at, size := d.padAt, d.padSize
	put(d.panel(), at.X, at.Y, size.Width, size.Height)
	for _, c := range []*widget.Scroller{side, middle} {
		if c == nil {
			continue
		}
		p, z := c.Position(), c.Size()
		if at.X >= p.X+z.Width || at.X+size.Width <= p.X || at.Y+size.Height < p.Y+z.Height {
			continue
		}
		c.CoverX, c.CoverW = at.X-p.X, size.Width
		c.Covered = fyne.Max(0, fyne.Min(z.Height, p.Y+z.Height-at.Y))
		if c == side && c.Foot < c.Covered {
			c.Foot = c.Covered
			c.Reflow()
		}
	}
}

// sideWidth is the width of the entries beside the middle.
func (d *window) sideWidth(s fyne.Size) float32 {
	switch {
	case d.pane.Wide:
		return 320 // few entries: the plan has the room
	case s.Width < 1200:
		return 384
	}
	return 424
}

func (d *window) paintRoute(stages []widget.Stage, at int) {
	d.route.Set(stages, at)
	s := stages[at]
	d.here.Set(strconv.Itoa(at+1)+"  "+s.Title+": "+s.State.Word(), false)
	if s.State == widget.Ready || s.State == widget.NotYet {
		d.here.Set(strconv.Itoa(at+1)+"  "+s.Title, false)
	}
	d.drawer.Reflow()
}

func (d *window) paintBar() {
	b := d.b
	d.title.Set(b.title())
	text, bad := b.status()
	d.status.Tone = theme.Muted
	if bad {
		d.status.Tone = theme.Bad
	}
	d.status.Text = text
	switch {
	case b.saveErr != nil:
		d.retry.Set("Save again", false)
	case b.runErr != nil:
		d.retry.Set("Try again", false)
	case b.readOnly != nil:
		d.retry.Set("Read again", false)
	default:
		d.retry.Set("Seen", false)
	}
	d.status.Refresh()
	who := b.person
	if who == "" {
		who = "who?"
	}
	d.who.Set(who, false)
	d.system.Set(b.system.String(), false)
	d.sun.Glyph = "moon"
	if b.dark {
		d.sun.Glyph = "sun"
	}
	d.keys.Set("", b.keys && !b.keyboard)
	d.sun.Refresh()
	d.layout(d.Size())
}

const (
	barH  = 54
	foldH = 56
)

func put(o fyne.CanvasObject, x, y, w, h float32) {
	o.Move(fyne.NewPos(x, y))
	if s := fyne.NewSize(w, h); o.Size() != s {
		o.Resize(s)
	}
}

// upright tells that the window is taller than wide, or too narrow for three
// columns.
func upright(s fyne.Size) bool { return s.Width < 960 }

func (d *window) layout(s fyne.Size) {
	if s.Width < 100 || s.Height < 100 || d.pane == nil {
		return
	}
	p := theme.Now()
	ground, panel, ruleA, ruleB, fold := d.bars[0], d.bars[1], d.bars[2], d.bars[3], d.bars[4]
	ground.FillColor, panel.FillColor, fold.FillColor = p.Of(theme.Panel), p.Of(theme.Panel), p.Of(theme.Panel)
	ruleA.FillColor, ruleB.FillColor = p.Of(theme.Line), p.Of(theme.Line)

	// The bar.
	put(ground, 0, 0, s.Width, barH)
	put(ruleA, 0, barH-1, s.Width, 1)
	put(d.jobs, 3, 3, d.jobs.MinSize().Width, 48)
	right := s.Width - 3
	for _, t := range []*widget.Tap{d.help, d.keys, d.sun, d.system, d.who} {
		w := t.MinSize().Width
		if t == d.who {
			w = fyne.Min(w, 130)
		}
		right -= w
		put(t, right, 3, w, 48)
	}
	left := d.jobs.MinSize().Width + 6
	for _, t := range []*widget.Tap{d.undo, d.redo} {
		if d.b.keep.jobs == nil {
			t.Hide()
			continue
		}
		t.Show()
		put(t, left, 3, t.MinSize().Width, 48)
		left += t.MinSize().Width
	}
	left += 6
	if _, bad := d.b.status(); bad {
		w := d.retry.MinSize().Width
		right -= w + 8
		put(d.retry, right, 3, w, 48)
		d.retry.Show()
	} else {
		d.retry.Hide()
	}
	put(d.title, left, 8, right-left-8, 21)
	put(d.status, left, 30, right-left-8, 18)

	side, centre := d.pane.Side, d.pane.Middle
	if upright(s) {
		d.layoutUpright(s, side, centre)
		return
	}
	// The middle keeps the 600 at which a strip stands in one row.
	routeW, sideW := float32(226), d.sideWidth(s)
	put(panel, 0, barH, routeW, s.Height-barH)
	put(ruleB, routeW-1, barH, 1, s.Height-barH)
	d.route.Room = s.Height - barH - 4
	put(d.drawer, 0, barH+4, routeW, s.Height-barH-4)
	x, top, h := routeW, float32(barH), s.Height-barH
	if d.pane.Alone && centre != nil {
		fold.Hide()
		put(centre, x, top, s.Width-x, h)
		return
	}
	if centre == nil {
		fold.Hide()
		put(side, x, top, s.Width-x, h)
		d.putPad(s)
		return
	}
	fold.Show()
	put(fold, s.Width-sideW, top, sideW, h)
	put(centre, x, top, s.Width-sideW-x, h)
	put(side, s.Width-sideW, top, sideW, h)
	d.putPad(s)
}

func (d *window) layoutUpright(s fyne.Size, side, centre *widget.Scroller) {
	_, panel, _, ruleB, fold := d.bars[0], d.bars[1], d.bars[2], d.bars[3], d.bars[4]
	put(panel, 0, barH, s.Width, foldH)
	put(ruleB, 0, barH+foldH-1, s.Width, 1)
	put(d.back, 4, barH+4, 56, 48)
	put(d.next, s.Width-60, barH+4, 56, 48)
	put(d.here, 64, barH+4, s.Width-128, 48)
	top := float32(barH + foldH)
	h := s.Height - top
	if d.open {
		d.route.Room = h
		put(d.drawer, 0, top, s.Width, fyne.Min(h, d.route.HeightFor(s.Width)+40))
		put(panel, 0, barH, s.Width, foldH+d.drawer.Size().Height)
		return
	}
	low := top
	if d.pane.Alone && centre != nil {
		fold.Hide()
		put(centre, 0, top, s.Width, h)
		return
	}
	if centre != nil {
		// Findings have half of the height, and what the entries do not need. While an
		// entry has the cursor that stays as it is.
		if !d.pane.Lit() || d.shared != s || d.sharedBy != d.pane {
			d.want, d.shared, d.sharedBy = widget.HeightAt(side.Content, s.Width), s, d.pane
		}
		want := d.want
		ch := float32(int(fyne.Max(h*0.5, h-fyne.Max(want, 200))))
		put(centre, 0, top, s.Width, ch)
		low = top + ch
	}
	fold.Hide()
	if centre != nil {
		fold.Show()
		put(fold, 0, low, s.Width, s.Height-low)
	}
	put(side, 0, low, s.Width, s.Height-low)
	d.putPad(s)
}

// CreateRenderer implements fyne.Widget.
func (d *window) CreateRenderer() fyne.WidgetRenderer { return &windowRenderer{d} }

type windowRenderer struct{ d *window }

func (r *windowRenderer) Layout(s fyne.Size) { r.d.layout(s) }
func (r *windowRenderer) MinSize() fyne.Size { return fyne.NewSize(640, 480) }
func (r *windowRenderer) Destroy()           {}
func (r *windowRenderer) Refresh() {
	r.d.layout(r.d.Size())
	for _, o := range r.Objects() {
		o.Refresh()
	}
	canvas.Refresh(r.d)
}

func (r *windowRenderer) Objects() []fyne.CanvasObject {
	d := r.d
	var os []fyne.CanvasObject
	under := d.pane != nil && !(d.open && upright(d.Size()))
	if under && d.pane.Middle != nil {
		os = append(os, d.pane.Middle)
	}
	os = append(os, d.bars[4])
	if under && !(d.pane.Alone && d.pane.Middle != nil) {
		os = append(os, d.pane.Side)
		if d.padOn {
			os = append(os, d.panel())
		}
	}
	os = append(os, d.bars[0], d.bars[1])
	if upright(d.Size()) {
		os = append(os, d.here, d.back, d.next)
		if d.open {
			os = append(os, d.drawer)
		}
	} else {
		os = append(os, d.drawer)
	}
	os = append(os, d.bars[2], d.bars[3], d.jobs, d.undo, d.redo, d.title, d.status, d.retry, d.who, d.system, d.sun, d.keys, d.help)
	return os
}
