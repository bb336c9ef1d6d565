package section

import (
	"fmt"
	"slices"
	"strings"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/wiring/ladder"
	"retrostage/wiring/netlist"
)

// least is the height of the smallest letters of a drawing as first shown, pixels.
const least = 12.0

// drawing is a wiring diagram with the unit it shows.
type drawing struct {
	unit   *netlist.Unit
	ladder ladder.Drawing
}

// draw lays a unit out as for paper: conductors by number, for whole words would need
// three times the width at letters that can be read.
func draw(u *netlist.Unit, marks []ladder.Change) drawing {
	return drawing{u, ladder.Layout(u, marks...)}
}

// drawing is the page of the plan with old and new, which change places where they stand.
func (w *wiringView) drawing() {
	const before, after = "Before: what goes", "After: what is new or moved"
	pick := widget.NewChoose([]string{before, after}, before, nil)
	if w.after {
		pick.Select(after)
	}
	said := widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	pick.Do = func(o string) {
		w.after = o == after
		w.picture(said)
	}
	w.view.OnTap = func(at chart.Pt) {
		w.follow(at)
		w.picture(said)
	}
	w.view.High = func() float32 {
		h := w.p.Middle.Size().Height
		if h == 0 {
			h = 600
		}
		return h - 2*theme.Touch - 96
	}
	w.view.Print = func() {
		name := "wiring-before"
		if w.after {
			name = "wiring-after"
		}
		w.p.Print(name, w.shownDrawing().unit.Title, ladderPicture(w.shownDrawing().ladder, ""))
	}
	w.body.Add(pick)
	w.body.Add(said)
	w.body.Add(w.view)
	w.picture(said)
}

func (w *wiringView) shownDrawing() drawing {
	if w.after {
		return w.plan.after
	}
	return w.plan.before
}

// picture shows the old or the new circuit. What is followed stays in the middle; else
// the place in view stays.
func (w *wiringView) picture(said *widget.Words) {
	d := w.shownDrawing()
	if d.unit == nil {
		said.Set("The plan has no drawing of this.")
		return
	}
	w.view.Least = least / d.ladder.Least()
	changed := w.drawn != d.unit
	w.drawn = d.unit
	w.view.Set(ladderPicture(d.ladder, w.followed))
	if x, y, ok := d.ladder.Place(w.followed); ok && (changed || w.lead) {
		w.view.Centre(chart.Pt{X: x, Y: y})
	}
	w.lead = false
	said.Set(w.told(d))
	w.p.reflow()
}

// follow takes up the conductor at a place; touched again there, the next one on the same
// terminal; and a part where there is no conductor.
func (w *wiringView) follow(at chart.Pt) {
	const finger = 18 // pixels to each side
	cs, device := w.shownDrawing().ladder.At(at.X, at.Y, finger/max(w.view.Unit(), 1e-6))
	switch i := slices.Index(cs, w.followed); {
	case len(cs) > 0 && (device == "" || w.followed != device):
		w.followed = cs[(i+1)%len(cs)]
		if i >= 0 && i+1 == len(cs) && device != "" {
			w.followed = device
		}
	default:
		w.followed = device
	}
}

// told says in words what is followed: from where to where, and what becomes of it.
func (w *wiringView) told(d drawing) string {
	const how = "Touch a conductor to follow it; drag to move."
	if w.followed == "" {
		return how
	}
	action := marksOf(w.plan.Result)[w.followed]
	if action == "" {
		action = "keep"
	}
	for i := range d.unit.Conductors {
		c := &d.unit.Conductors[i]
		if c.ID != w.followed {
			continue
		}
		words := fmt.Sprintf("%s %s, %d AWG: %s to %s. Planned: %s.", c.ID, c.Colour, c.Gauge, c.From, c.To, action)
		if _, _, ok := d.ladder.Place(c.ID); !ok {
			words += " It stands in the list below the rungs."
		}
		return words
	}
	if dev := d.unit.Device(w.followed); dev != nil {
		return fmt.Sprintf("%s, %s. Planned: %s.", dev.ID, dev.Label, action)
	}
	return fmt.Sprintf("%s is not in this circuit. Planned: %s.", w.followed, action)
}

// shows tells that a conductor or a part is on a rung of one of the circuits.
func (w *wiringView) shows(item string) bool {
	_, _, old := w.plan.before.ladder.Place(item)
	_, _, made := w.plan.after.ladder.Place(item)
	return item != "" && (old || made)
}

// lookAt turns to the drawing with a conductor or a part in the middle, in the circuit
// that has it.
func (w *wiringView) lookAt(item string) {
	w.followed, w.lead = item, true
	_, _, old := w.plan.before.ladder.Place(item)
	_, _, made := w.plan.after.ladder.Place(item)
	w.after = made || !old && w.plan.after.unit != nil
	w.turn("Drawing")
}

// ladderPicture turns a ladder's strokes and words into a picture, with one conductor or
// part followed: both of its ends broad, and what is joined with it under a band. The
// paint of a conductor is left to its name in words: on a dark ground and in the sun it
// would tell nothing.
func ladderPicture(d ladder.Drawing, followed string) *chart.Picture {
	p := &chart.Picture{X: chart.Axis{Min: 0, Max: d.W}, Y: chart.Axis{Min: 0, Max: d.H}}
	tone := func(mark string) theme.Tone {
		switch mark {
		case "":
			return theme.Ink
		case "remove":
			return theme.Bad
		}
		return theme.Accent
	}
	nets := map[string]bool{}
	for _, l := range d.Lines {
		if followed != "" && l.Conductor == followed && l.Net != "" {
			nets[l.Net] = true
		}
	}
	for _, l := range d.Lines {
		if nets[l.Net] {
			p.Items = append(p.Items, chart.Line{Pts: []chart.Pt{{X: l.X1, Y: l.Y1}, {X: l.X2, Y: l.Y2}}, Tone: theme.Chosen, Width: 9})
		}
	}
	for _, s := range d.Symbols {
		if followed != "" && s.Device == followed {
			p.Items = append(p.Items, chart.Area{Tone: theme.Chosen, Pts: []chart.Pt{{X: s.X, Y: s.Y}, {X: s.X + s.W, Y: s.Y}, {X: s.X + s.W, Y: s.Y + s.H}, {X: s.X, Y: s.Y + s.H}}})
		}
	}
	for _, l := range d.Lines {
		width, dash := 1.2, []float64(nil)
		if l.Part == "rail" {
			width = 2
		}
		if l.Mark != "" {
			width = 2.6
		}
		if l.Mark == "remove" {
			dash = []float64{5, 3}
		}
		if followed != "" && l.Conductor == followed {
			width = 5
		}
		p.Items = append(p.Items, chart.Line{Pts: []chart.Pt{{X: l.X1, Y: l.Y1}, {X: l.X2, Y: l.Y2}}, Tone: tone(l.Mark), Width: width, Dash: dash})
	}
	for _, c := range d.Circles {
		p.Items = append(p.Items, chart.Round{At: chart.Pt{X: c.X, Y: c.Y}, R: c.R, Filled: c.Filled, Tone: tone(c.Mark), Width: 1.4})
	}
	anchors := map[string]float64{"middle": 0.5, "end": 1}
	for _, t := range d.Labels {
		p.Items = append(p.Items, chart.Text{At: chart.Pt{X: t.X, Y: t.Y}, Text: t.Text, Tone: tone(t.Mark), Size: t.Size,
			Bold: t.Bold || t.Mark != "" || followed != "" && strings.TrimRight(t.Text, "+×>¬") == followed, AX: anchors[t.Anchor], OnBase: true, Grow: true})
	}
	return p
}

// paper gives a view its key for paper.
func (p *Pane) paper(v *widget.View, name string) {
	v.Print = func() {
		if pic := v.Picture(); !pic.Empty() {
			p.Print(name, p.Info.Title, pic)
		}
	}
}
