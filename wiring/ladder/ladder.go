package ladder

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A Drawing is a ladder as strokes, circles and words. Symbols are the boxes
// that the strokes of each part fill, for touching and for finding.
type Drawing struct {
	Title   string   `json:"title"`
	W       float64  `json:"w"`
	H       float64  `json:"h"`
	Lines   []Line   `json:"lines"`
	Circles []Circle `json:"circles"`
	Symbols []Symbol `json:"symbols"`
	Labels  []Label  `json:"labels"`
}

// A Line is a straight stroke. Part is rail, wire or symbol. Colour is #RRGGBB.
type Line struct {
	X1        float64 `json:"x1"`
	Y1        float64 `json:"y1"`
	X2        float64 `json:"x2"`
	Y2        float64 `json:"y2"`
	Part      string  `json:"part"`
	Colour    string  `json:"colour"`
	Width     float64 `json:"width"`
	Conductor string  `json:"conductor,omitempty"`
	Mark      string  `json:"mark,omitempty"` // the action, if the conductor changes
	Net       string  `json:"-"`              // all strokes of one are joined; no name to show
}

// At is what lies within reach of a place: the conductors whose strokes or number do, the
// nearest first, and the part in whose box it lies, "" for none.
func (d Drawing) At(x, y, reach float64) (conductors []string, device string) {
	type found struct {
		id  string
		far float64
	}
	var near []found
	for _, l := range d.Lines {
		if l.Conductor == "" {
			continue
		}
		// Strokes run across or down.
		dx := max(min(l.X1, l.X2)-x, 0, x-max(l.X1, l.X2))
		dy := max(min(l.Y1, l.Y2)-y, 0, y-max(l.Y1, l.Y2))
		if far := math.Hypot(dx, dy); far <= reach {
			near = append(near, found{l.Conductor, far})
		}
	}
	named := map[string]bool{}
	for _, l := range d.Lines {
		named[l.Conductor] = l.Conductor != ""
	}
	for _, t := range d.Labels {
		id := strings.TrimRight(t.Text, "+×>¬")
		if !named[id] {
			continue
		}
		wide, left := 0.62*t.Size*float64(len(id)), t.X
		if t.Anchor == "end" {
			left -= wide
		}
		if far := math.Hypot(max(left-x, 0, x-left-wide), max(t.Y-t.Size-y, 0, y-t.Y)); far <= reach {
			near = append(near, found{id, far})
		}
	}
	slices.SortStableFunc(near, func(a, b found) int { return cmp.Compare(a.far, b.far) })
	for _, f := range near {
		if !slices.Contains(conductors, f.id) {
			conductors = append(conductors, f.id)
		}
	}
	for _, s := range d.Symbols {
		if x >= s.X && x <= s.X+s.W && y >= s.Y && y <= s.Y+s.H {
			device = s.Device
		}
	}
	return conductors, device
}

// Place is where a conductor or a part is first drawn; ok is false where it is only in a list.
func (d Drawing) Place(id string) (x, y float64, ok bool) {
	if id == "" {
		return 0, 0, false
	}
	for _, l := range d.Lines {
		if l.Conductor == id {
			return (l.X1 + l.X2) / 2, (l.Y1 + l.Y2) / 2, true
		}
	}
	for _, s := range d.Symbols {
		if s.Device == id {
			return s.X + s.W/2, s.Y + s.H/2, true
		}
	}
	return 0, 0, false
}

// Least is the size of the smallest words.
func (d Drawing) Least() float64 {
	least := math.Inf(1)
	for _, t := range d.Labels {
		least = min(least, t.Size)
	}
	return least
}

// A Circle belongs to a symbol or is a joint.
type Circle struct {
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	R      float64 `json:"r"`
	Filled bool    `json:"filled,omitempty"`
	Mark   string  `json:"mark,omitempty"`
}

// A Symbol is the box of one part.
type Symbol struct {
	Kind   string  `json:"kind"` // contact-no, contact-nc, switch, coil, winding, capacitor, heater, fuse, box
	Device string  `json:"device"`
	Name   string  `json:"name"`
	X      float64 `json:"x"` // left
	Y      float64 `json:"y"` // top
	W      float64 `json:"w"`
	H      float64 `json:"h"`
	Mark   string  `json:"mark,omitempty"`
}

// A Label is one line of text; Anchor is start, middle or end, at its baseline.
type Label struct {
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	Text   string  `json:"text"`
	Size   float64 `json:"size"`
	Anchor string  `json:"anchor"`
	Bold   bool    `json:"bold,omitempty"`
	Mark   string  `json:"mark,omitempty"`
}

// A Change marks a device or a conductor with what is done to it.
type Change struct {
	ID     string
	Action string
}

// Changes turns a map of names and actions into changes; "keep" marks nothing.
func Changes(marks map[string]string) (out []Change) {
	for _, id := range slices.Sorted(maps.Keys(marks)) {
		if marks[id] != "keep" {
			out = append(out, Change{id, marks[id]})
		}
	}
	return out
}

const (
	boxH         = 36.0 // a symbol
	lane         = 5.0  // between two links in one gutter
	margin       = 28.0
	textSize     = 11.0
	ink          = "#202020"
	headerHeight = 40.0
)

// Hex is the paint for a conductor's colour in words; an unknown word is ink.
// Light colours are darkened so that they show on white.
func Hex(colour string) string {
	if h, ok := paints[strings.ToLower(colour)]; ok {
		return h
	}
	return ink
}

var paints = map[string]string{"black": "#111111", "white": "#8A8A8A", "red": "#B00020", "blue": "#0B4FA8", "yellow": "#9A7400", "green": "#1B6E2E",
	"orange": "#B85000", "brown": "#6B3E1F", "purple": "#6A1B8A", "grey": "#5F5F5F", "gray": "#5F5F5F", "pink": "#B03070"}

// element is a part of a device with two ends.
type element struct {
	device, name, kind string
	ends               [2]string
	order              int
	row, col           int
	flipped            bool // drawn with ends[1] on the left
}

func (e *element) end(side int) string { // 0 left, 1 right
	if e.flipped {
		side = 1 - side
	}
	return e.ends[side]
}

// metrics are the room and the sizes of type of a drawing.
type metrics struct {
	boxW                   float64 // a symbol
	pitch                  float64 // between two rungs
	stub                   float64 // from a symbol to the first lane: room for the words
	wire, term, part, text float64 // sizes of type
	leading                float64 // between the words of two conductors on one terminal
	nameRise, partRise     float64 // above the symbol
}

// The largest drawing of the catalogue, seven symbols in series, is as wide as a Letter
// page on its side while its smallest words are of 7 points.
var paper = metrics{boxW: 40, text: 15, pitch: 122, stub: 36, wire: 15, term: 15, part: 15, leading: 15, nameRise: 17, partRise: 2}

// Smallest is the size of the smallest words of a drawing for paper.
const Smallest = 15.0

// Signs stand on paper for what is done to a conductor.
var signs = map[string]string{"add": "+", "remove": "×", "move": ">", "cap": "¬"}

// Layout draws a unit so that its words can be read on a printed page and at the width
// of a pane: conductors carry their number and a sign, and a list at the end has the
// rest. It never fails: a unit that does not compile gives a drawing that says why.
func Layout(u *netlist.Unit, changes ...Change) Drawing {
	d := Drawing{Title: u.Title}
	c, err := netlist.Compile(u)
	if err != nil {
		d.W, d.H = 600, 80
		d.Labels = []Label{{X: margin, Y: 40, Text: err.Error(), Size: textSize, Anchor: "start"}}
		return d
	}
	l := &layout{metrics: paper, u: u, d: &d, marks: map[string]string{}, up: map[string]string{}, said: map[string]bool{}, drawn: map[*element]bool{}}
	for _, ch := range changes {
		l.marks[ch.ID] = ch.Action
	}
	for _, w := range u.Conductors {
		if w.From != netlist.Capped && w.To != netlist.Capped {
			l.join(w.From, w.To)
		}
	}
	l.elements(c)
	l.y = margin
	for _, dev := range u.Devices {
		switch dev.Kind {
		case "supply", "supply-three-phase":
			l.section(dev.Label+", "+volts(&dev, "volts"), dev.ID+".L1", dev.ID+".L2")
		case "supply-120":
			l.section(dev.Label+", "+volts(&dev, "volts"), dev.ID+".L", dev.ID+".N")
		case "source":
			l.section(dev.Label+", "+volts(&dev, "volts"), dev.ID+".1", dev.ID+".2")
		}
	}
	for _, dev := range u.Devices {
		if dev.Kind == "transformer" {
			l.section("control, "+volts(&dev, "volts")+", from "+dev.ID, dev.ID+".S1", dev.ID+".S2")
		}
	}
	for _, e := range l.els { // loops that hang on no rail, such as a sensor on its two inputs
		if !l.drawn[e] && l.find(e.ends[0]) != l.find(e.ends[1]) {
			l.section("on its own, "+u.Device(e.device).Label, e.ends[0], e.ends[1])
		}
	}
	l.legend()
	l.rest()
	d.H = l.y + margin
	for _, x := range d.Lines {
		d.W = max(d.W, x.X1, x.X2)
	}
	for _, t := range d.Labels {
		if t.Anchor == "start" {
			d.W = max(d.W, t.X+0.62*t.Size*float64(len(t.Text)))
		}
	}
	d.W += margin
	return d
}

func volts(d *netlist.Device, p string) string { return fmt.Sprintf("%.0f V", d.P(p)) }

type layout struct {
	metrics
	u     *netlist.Unit
	d     *Drawing
	marks map[string]string
	up    map[string]string // union-find over ends
	els   []*element
	drawn map[*element]bool
	said  map[string]bool // conductors that have their words
	net   string          // of the strokes being drawn
	y     float64
}

func (l *layout) find(e string) string {
	for l.up[e] != "" && l.up[e] != e {
		e = l.up[e]
	}
	return e
}

func (l *layout) join(a, b string) {
	if a, b = l.find(a), l.find(b); a != b {
		l.up[b] = a
	}
}

// elements lists what is drawn: contacts first, then loads, in the order of the
// unit's devices.
func (l *layout) elements(c *netlist.Circuit) {
	for i := range c.Branches {
		br := &c.Branches[i]
		if br.Kind == netlist.ConductorBranch || br.Ends[0] == "" || br.Ends[0] == "earth" || br.Ends[1] == "earth" {
			continue
		}
		if len(l.u.At(br.Ends[0])) == 0 || len(l.u.At(br.Ends[1])) == 0 {
			continue // an unused terminal: nothing can flow
		}
		dev := l.u.Device(br.Device)
		kind := ""
		switch {
		case br.Kind == netlist.ContactBranch && br.Name == "link":
			kind = "fuse"
		case br.Kind == netlist.ContactBranch && len(netlist.Kinds[dev.Kind].Terminals) == 2:
			kind = "switch" // a contact and nothing else in it
		case br.Kind == netlist.ContactBranch:
			kind = "contact-no"
			if br.Closed() {
				kind = "contact-nc"
			}
		case br.Name == "secondary", br.Name == "bond", br.Name == "bleed", strings.HasSuffix(br.Name, "bias"), strings.HasSuffix(br.Name, "return"), strings.HasSuffix(br.Name, "tie"):
			continue
		case br.Name == "coil":
			kind = "coil"
		case strings.Contains(br.Name, "winding"), br.Name == "primary", br.Name == "unloading valve":
			kind = "winding"
		case strings.HasPrefix(dev.Kind, "capacitor"):
			kind = "capacitor"
		case br.Name == "heater", br.Name == "thermistor":
			kind = "heater" // a resistance that warms
		case br.Name == "bar":
			kind = "bar"
		default:
			kind = "box"
		}
		order := 1
		if br.Kind == netlist.ContactBranch {
			order = 0
		} else if kind == "capacitor" || kind == "heater" || kind == "box" {
			order = 2
		}
		l.els = append(l.els, &element{device: br.Device, name: br.Name, kind: kind, ends: br.Ends, order: order})
	}
	slices.SortStableFunc(l.els, func(a, b *element) int { return cmp.Compare(a.order, b.order) })
}

// section draws one ladder between two rails.
func (l *layout) section(title, left, right string) {
	lr, rr := l.find(left), l.find(right)
	var here []*element
	rows, cols := 0, 1
	place := func(e *element, flipped bool, row, col int) {
		e.flipped, e.row, e.col = flipped, row, col
		l.drawn[e] = true
		here = append(here, e)
		rows, cols = max(rows, row+1), max(cols, col+1)
	}
	visited := map[string]bool{lr: true, rr: true}
	// follow draws what leaves a net, the first on the row given, the others on new
	// rows; it tells whether it drew anything.
	var follow func(net string, row, col int) bool
	follow = func(net string, row, col int) bool {
		any := false
		for _, e := range l.els {
			if l.drawn[e] {
				continue
			}
			a, b := l.find(e.ends[0]), l.find(e.ends[1])
			flipped := b == net && a != net
			if a != net && !flipped || a == b {
				continue
			}
			if flipped {
				b = a
			}
			r := row
			if any || r < 0 {
				r = rows
			}
			any = true
			place(e, flipped, r, col)
			if !visited[b] {
				visited[b] = true
				follow(b, r, col+1)
			}
		}
		return any
	}
	follow(lr, -1, 0)
	for _, e := range l.els { // parts that hang on the right rail only
		if a, b := l.find(e.ends[0]), l.find(e.ends[1]); !l.drawn[e] && a != b && (a == rr || b == rr) {
			place(e, a == rr, rows, 0)
		}
	}
	if len(here) == 0 {
		return
	}
	l.draw(title, lr, rr, here, rows, cols)
}

// draw turns placed elements into strokes.
func (l *layout) draw(title, lr, rr string, els []*element, rows, cols int) {
	// How many lanes does each gutter need, and how many channel lanes each row?
	type portAt struct {
		e    *element
		side int
		g    int
	}
	nets := map[string][]portAt{}
	var order []string
	last := make([]int, rows) // the last column used in a row
	for _, e := range els {
		last[e.row] = max(last[e.row], e.col)
	}
	for _, e := range els {
		for side := range 2 {
			n := l.find(e.end(side))
			g := e.col + side
			if n == rr && side == 1 && last[e.row] == e.col {
				g = cols // runs on along its row to the right rail
			}
			if nets[n] == nil {
				order = append(order, n)
			}
			nets[n] = append(nets[n], portAt{e, side, g})
		}
	}
	lanes := make([]int, cols+1)
	laneOf := map[string]map[int]int{}
	channels := make([]int, rows)
	channelOf := map[string][2]int{}
	for _, n := range order {
		gs := map[int]bool{}
		low := rows
		for _, p := range nets[n] {
			gs[p.g] = true
			low = min(low, p.e.row)
		}
		if n == lr {
			gs[0] = true
		}
		if n == rr {
			gs[cols] = true
		}
		laneOf[n] = map[int]int{}
		for g := range gs {
			if n == lr && g == 0 || n == rr && g == cols {
				continue // the rail itself
			}
			laneOf[n][g] = lanes[g]
			lanes[g]++
		}
		if len(gs) > 1 {
			channelOf[n] = [2]int{low, channels[low]}
			channels[low]++
		}
	}
	colX := make([]float64, cols+1) // left side of column k's symbol
	x := margin
	gutX := make([]float64, cols+1) // first lane of gutter k
	for k := range cols + 1 {
		gutX[k] = x + l.stub
		if k == 0 {
			gutX[k] = x + 2*lane
		}
		x = gutX[k] + float64(lanes[k])*lane + l.stub
		if k < cols {
			colX[k] = x
			x += l.boxW
		}
	}
	railL, railR := margin, x
	rowY := make([]float64, rows)
	y := l.y + headerHeight + boxH
	for r := range rows {
		rowY[r] = y
		y += l.pitch + float64(channels[r])*lane
	}
	top, bottom := l.y+18, y-l.pitch/2
	l.d.Labels = append(l.d.Labels, Label{X: railL, Y: l.y + 12, Text: title + ": left rail " + l.railName(lr) + ", right rail " + l.railName(rr), Size: 13, Anchor: "start", Bold: true})
	l.net = lr
	l.stroke(railL, top, railL, bottom, "rail", ink, 3, "", "")
	l.net = rr
	l.stroke(railR, top, railR, bottom, "rail", ink, 3, "", "")

	laneX := func(n string, g int) float64 {
		switch {
		case n == lr && g == 0:
			return railL
		case n == rr && g == cols:
			return railR
		}
		return gutX[g] + float64(laneOf[n][g])*lane
	}
	channelY := func(n string) float64 {
		c := channelOf[n]
		return rowY[c[0]] + boxH/2 + 20 + float64(c[1])*lane
	}
	for _, n := range order {
		l.net = n
		span := map[int][2]float64{}
		grow := func(g int, y float64) {
			s, ok := span[g]
			if !ok {
				s = [2]float64{y, y}
			}
			span[g] = [2]float64{min(s[0], y), max(s[1], y)}
		}
		count := map[int]int{}
		for _, p := range nets[n] {
			py := rowY[p.e.row]
			px := colX[p.e.col]
			if p.side == 1 {
				px += l.boxW
			}
			grow(p.g, py)
			count[p.g]++
			l.port(px, py, laneX(n, p.g), p.e.end(p.side), p.side)
		}
		_, crosses := channelOf[n]
		if crosses {
			cy := channelY(n)
			lo, hi := railR, railL
			gs := slices.Sorted(maps.Keys(span))
			if n == lr {
				gs = append(gs, 0)
			}
			if n == rr {
				gs = append(gs, cols)
			}
			for _, g := range gs {
				grow(g, cy)
				lo, hi = min(lo, laneX(n, g)), max(hi, laneX(n, g))
			}
			l.stroke(lo, cy, hi, cy, "wire", ink, 1.2, "", "")
		}
		for _, g := range slices.Sorted(maps.Keys(span)) {
			if n == lr && g == 0 || n == rr && g == cols {
				continue
			}
			s := span[g]
			gx := laneX(n, g)
			if s[0] < s[1] {
				l.stroke(gx, s[0], gx, s[1], "wire", ink, 1.2, "", "")
			}
			if count[g] > 2 || crosses {
				for _, p := range nets[n] {
					if p.g == g {
						l.d.Circles = append(l.d.Circles, Circle{X: gx, Y: rowY[p.e.row], R: 2.5, Filled: true})
					}
				}
			}
		}
	}
	l.net = ""
	for _, e := range els {
		l.symbol(e, colX[e.col], rowY[e.row])
	}
	l.y = y
}

func (l *layout) railName(net string) string {
	for _, e := range l.u.Ends() {
		if l.find(e) == net {
			for _, k := range []string{"supply", "transformer", "source"} {
				d := l.u.Device(e[:strings.IndexByte(e, '.')])
				if strings.HasPrefix(d.Kind, k) {
					return e
				}
			}
		}
	}
	return net
}

func (l *layout) stroke(x1, y1, x2, y2 float64, part, colour string, width float64, conductor, mark string) {
	l.d.Lines = append(l.d.Lines, Line{x1, y1, x2, y2, part, colour, width, conductor, mark, l.net})
}

// port draws the stub between a symbol and its net, one stroke per conductor that
// lands on the terminal, with the words for them.
func (l *layout) port(px, py, nx float64, end string, side int) {
	ws := l.u.At(end)
	term := end[strings.IndexByte(end, '.')+1:]
	for i, w := range ws {
		off := (float64(i) - float64(len(ws)-1)/2) * 3
		mark := l.mark(w.ID)
		width := 2.0
		if mark != "" {
			width = 3.2
		}
		l.stroke(px, py+off, nx, py+off, "wire", Hex(w.Colour), width, w.ID, mark)
	}
	if len(ws) == 0 {
		l.stroke(px, py, nx, py, "wire", ink, 1.2, "", "")
	}
	anchor, x := "end", px-3
	if side == 1 {
		anchor, x = "start", px+3
	}
	l.d.Labels = append(l.d.Labels, Label{X: x, Y: py - 7, Text: term, Size: l.term, Anchor: anchor})
	for i, w := range ws {
		mark := l.mark(w.ID)
		t := w.ID + signs[mark]
		l.said[w.ID] = true
		l.d.Labels = append(l.d.Labels, Label{X: x, Y: py + l.wire + 5*l.wire/8 + l.leading*float64(i), Text: t, Size: l.wire, Anchor: anchor, Mark: mark})
	}
}

func (l *layout) mark(id string) string {
	if m := l.marks[id]; m != "keep" {
		return m
	}
	return ""
}

// symbol draws a part: left port at (x, y), right port at (x+l.boxW, y).
func (l *layout) symbol(e *element, x, y float64) {
	mark := l.mark(e.device)
	l.d.Symbols = append(l.d.Symbols, Symbol{e.kind, e.device, e.name, x, y - boxH/2, l.boxW, boxH, mark})
	cx := x + l.boxW/2
	s := func(x1, y1, x2, y2 float64) { l.stroke(x1, y1, x2, y2, "symbol", ink, 1.6, "", mark) }
	circle := func(cx, r float64) { l.d.Circles = append(l.d.Circles, Circle{X: cx, Y: y, R: r, Mark: mark}) }
	switch e.kind {
	case "contact-no", "contact-nc":
		s(x, y, cx-7, y)
		s(cx+7, y, x+l.boxW, y)
		s(cx-7, y-11, cx-7, y+11)
		s(cx+7, y-11, cx+7, y+11)
		if e.kind == "contact-nc" {
			s(cx-12, y+11, cx+12, y-11)
		}
	case "switch":
		s(x, y, cx-14, y)
		s(cx+14, y, x+l.boxW, y)
		circle(cx-12, 2.5)
		circle(cx+12, 2.5)
		s(cx-12, y-2, cx+14, y-5)
	case "coil":
		s(x, y, cx-13, y)
		s(cx+13, y, x+l.boxW, y)
		circle(cx, 13)
	case "winding":
		s(x, y, cx-18, y)
		s(cx+18, y, x+l.boxW, y)
		for i := range 3 {
			circle(cx-12+12*float64(i), 6)
		}
	case "capacitor":
		s(x, y, cx-4, y)
		s(cx+4, y, x+l.boxW, y)
		s(cx-4, y-13, cx-4, y+13)
		s(cx+4, y-13, cx+4, y+13)
	case "heater":
		s(x, y, cx-18, y)
		s(cx+18, y, x+l.boxW, y)
		for i := range 6 {
			a := cx - 18 + 6*float64(i)
			s(a, y, a+3, y-9)
			s(a+3, y-9, a+6, y)
		}
	case "bar":
		s(x, y, x+l.boxW, y)
	default: // fuse, box
		h := 12.0
		if e.kind == "fuse" {
			h = 6
		}
		s(x, y, cx-18, y)
		s(cx+18, y, x+l.boxW, y)
		s(cx-18, y-h, cx+18, y-h)
		s(cx-18, y+h, cx+18, y+h)
		s(cx-18, y-h, cx-18, y+h)
		s(cx+18, y-h, cx+18, y+h)
	}
	name := e.device
	if mark != "" {
		name += " " + strings.ToUpper(mark)
	}
	l.d.Labels = append(l.d.Labels, Label{X: cx, Y: y - boxH/2 - l.nameRise, Text: name, Size: l.text, Anchor: "middle", Bold: true, Mark: mark},
		Label{X: cx, Y: y - boxH/2 - l.partRise, Text: e.name, Size: l.part, Anchor: "middle"})
}

// legend lists the conductors that the rungs name by number, in columns.
func (l *layout) legend() {
	const wide = 225.0
	across := 0.0
	for _, x := range l.d.Lines {
		across = max(across, x.X2)
	}
	columns := max(3, int((across-margin)/wide))
	var words []string
	for i := range l.u.Conductors {
		w := &l.u.Conductors[i]
		if !l.said[w.ID] {
			continue
		}
		t := fmt.Sprintf("%s%s %s, %d AWG", w.ID, signs[l.mark(w.ID)], w.Colour, w.Gauge)
		if m := l.mark(w.ID); m != "" {
			t += " " + strings.ToUpper(m)
		}
		words = append(words, t)
	}
	if len(words) == 0 {
		return
	}
	l.d.Labels = append(l.d.Labels, Label{X: margin, Y: l.y, Text: "Conductors on the rungs:", Size: l.text, Anchor: "start", Bold: true})
	rows := (len(words) + columns - 1) / columns
	for i, t := range words {
		l.d.Labels = append(l.d.Labels, Label{X: margin + wide*float64(i/rows), Y: l.y + l.line()*float64(1+i%rows), Text: t, Size: l.text, Anchor: "start"})
	}
	l.y += l.line()*float64(rows) + 24
}

// rest lists in words the conductors that no rung shows: equipment grounds, strips,
// splices, bus pairs, and spare conductors with both ends capped.
func (l *layout) rest() {
	l.list("Equipment grounds:", true)
	l.list("Also in the unit (strips, splices, data pairs, capped):", false)
}

// list writes the conductors not yet said, those of the equipment ground or the
// others, under a heading.
func (l *layout) list(heading string, ground bool) {
	y := l.y
	for i := range l.u.Conductors {
		w := &l.u.Conductors[i]
		if l.said[w.ID] || ground != (w.Class == netlist.Ground) {
			continue
		}
		if l.y == y {
			l.d.Labels = append(l.d.Labels, Label{X: margin, Y: l.y, Text: heading, Size: l.text, Anchor: "start", Bold: true})
		}
		t := fmt.Sprintf("%s %s, %d AWG: %s to %s", w.ID, w.Colour, w.Gauge, w.From, w.To)
		if m := l.mark(w.ID); m != "" {
			t += " " + strings.ToUpper(m)
		}
		l.y += l.line()
		l.d.Labels = append(l.d.Labels, Label{X: margin, Y: l.y, Text: t, Size: l.text, Anchor: "start"})
	}
	if l.y > y {
		l.y += 24
	}
}

// line is from one line of a list to the next.
func (m metrics) line() float64 { return 5 + m.text }
