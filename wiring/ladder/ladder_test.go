package ladder

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

// sheets are the drawings of the catalogue: each old unit, and each converted one
// with its changes marked.
func sheets(t *testing.T, f func(name string, u *netlist.Unit, marks map[string]string)) {
	t.Helper()
	for _, name := range netlist.Catalogue() {
		u, err := netlist.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, indoor := range []string{"conventional", "digital"} {
			target := planner.DefaultTarget()
			target.Indoor = indoor
			r, err := planner.Plan(u, target, nil)
			if err != nil {
				t.Fatal(err)
			}
			if indoor == "conventional" {
				f(name, u, r.Marks())
			}
			if r.New == nil {
				continue // refused: there is nothing new to draw
			}
			f(name+" to "+indoor, r.New, r.Marks())
		}
	}
}

func isWire(l Line) bool { return l.Part == "wire" || l.Part == "rail" }

// No symbol overlaps another or lies off the sheet, and no wire runs through one.
func TestSymbolsStandClear(t *testing.T) {
	sheets(t, func(name string, u *netlist.Unit, marks map[string]string) {
		d := Layout(u, Changes(marks)...)
		for i, a := range d.Symbols {
			if a.X < 0 || a.Y < 0 || a.X+a.W > d.W || a.Y+a.H > d.H {
				t.Errorf("%s: %s %s is off the sheet", name, a.Device, a.Name)
			}
			for _, b := range d.Symbols[:i] {
				if a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H {
					t.Errorf("%s: %s %s and %s %s overlap", name, a.Device, a.Name, b.Device, b.Name)
				}
			}
			for _, l := range d.Lines {
				x1, x2 := min(l.X1, l.X2), max(l.X1, l.X2)
				y1, y2 := min(l.Y1, l.Y2), max(l.Y1, l.Y2)
				if isWire(l) && x1 < a.X+a.W-0.1 && x2 > a.X+0.1 && y1 < a.Y+a.H-0.1 && y2 > a.Y+0.1 {
					t.Errorf("%s: a wire %+v runs through %s %s", name, l, a.Device, a.Name)
				}
			}
		}
		for _, l := range d.Lines {
			for _, v := range []float64{l.X1, l.Y1, l.X2, l.Y2} {
				if math.IsNaN(v) || v < 0 {
					t.Fatalf("%s: line %+v", name, l)
				}
			}
			if max(l.X1, l.X2) > d.W || max(l.Y1, l.Y2) > d.H {
				t.Errorf("%s: line %+v is off the sheet", name, l)
			}
		}
	})
}

// Every conductor is drawn or listed, with its name and colour in words, and its
// change if there is one; every part that works on the circuit has its symbol.
func TestEverythingIsDrawn(t *testing.T) {
	sheets(t, func(name string, u *netlist.Unit, marks map[string]string) {
		d := Layout(u, Changes(marks)...)
		drawn := map[string]bool{}
		for _, l := range d.Lines {
			if w := u.Conductor(l.Conductor); w != nil {
				drawn[w.ID] = true
				if l.Colour != Hex(w.Colour) {
					t.Errorf("%s: %s is %s and drawn %s", name, w.ID, w.Colour, l.Colour)
				}
			}
		}
		for _, w := range u.Conductors {
			said := false
			for _, l := range d.Labels {
				if strings.HasPrefix(l.Text, w.ID+" "+w.Colour) || strings.HasPrefix(l.Text, w.ID+signs[marks[w.ID]]+" "+w.Colour) {
					said = true
					change := marks[w.ID]
					if has := change != "" && strings.HasSuffix(l.Text, " "+strings.ToUpper(change)); has != (change != "" && change != "keep") {
						t.Errorf("%s: %q, the change is %q", name, l.Text, change)
					}
				}
			}
			if !said {
				t.Errorf("%s: no words for conductor %s (drawn %v)", name, w.ID, drawn[w.ID])
			}
		}
		have := map[string]bool{}
		for _, s := range d.Symbols {
			have[s.Device] = true
			if change := marks[s.Device]; change != "" && change != "keep" && s.Mark != change {
				t.Errorf("%s: %s is marked %q, want %q", name, s.Device, s.Mark, change)
			}
		}
		for _, dev := range u.Devices {
			switch {
			case have[dev.ID], dev.Kind == "splice", dev.Kind == "ground-lug", strings.HasPrefix(dev.Kind, "supply"), strings.HasPrefix(dev.Kind, "indoor-board"):
			case len(ends(u, dev.ID)) == 0: // nothing ends on it
			default:
				t.Errorf("%s: no symbol for %s (%s)", name, dev.ID, dev.Kind)
			}
		}
	})
}

func ends(u *netlist.Unit, device string) (out []string) {
	for _, w := range u.Conductors {
		for _, e := range []string{w.From, w.To} {
			if strings.HasPrefix(e, device+".") {
				out = append(out, e)
			}
		}
	}
	return out
}

// What the strokes join is what the conductors join: read back from the geometry
// alone, the ends of one net touch and those of two nets do not.
func TestStrokesJoinWhatConductorsJoin(t *testing.T) {
	sheets(t, func(name string, u *netlist.Unit, marks map[string]string) {
		d := Layout(u, Changes(marks)...)
		var ls []Line
		for _, l := range d.Lines {
			if isWire(l) {
				ls = append(ls, l)
			}
		}
		up := make([]int, len(ls))
		for i := range up {
			up[i] = i
		}
		find := func(i int) int {
			for up[i] != i {
				i = up[i]
			}
			return i
		}
		touches := func(x, y float64, l Line) bool { // several conductors on one terminal lie up to 8 points apart
			x1, x2 := min(l.X1, l.X2), max(l.X1, l.X2)
			y1, y2 := min(l.Y1, l.Y2), max(l.Y1, l.Y2)
			slack := 0.1
			if x1 == x2 && l.Part == "wire" {
				slack = 8
			}
			return x > x1-0.1 && x < x2+0.1 && y > y1-slack && y < y2+slack
		}
		for i, a := range ls {
			for j, b := range ls {
				if i != j && (touches(a.X1, a.Y1, b) || touches(a.X2, a.Y2, b)) {
					up[find(i)] = find(j)
				}
			}
		}
		nets := map[string]string{}
		var root func(e string) string
		root = func(e string) string {
			if p := nets[e]; p != "" && p != e {
				return root(p)
			}
			return e
		}
		for _, w := range u.Conductors {
			if w.From != netlist.Capped && w.To != netlist.Capped {
				if a, b := root(w.From), root(w.To); a != b {
					nets[b] = a
				}
			}
		}
		netOf, partOf := map[int]string{}, map[string]int{}
		for i, l := range ls {
			w := u.Conductor(l.Conductor)
			if w == nil {
				continue
			}
			n, p := root(w.From), find(i)
			if other, ok := netOf[p]; ok && other != n {
				t.Fatalf("%s: %s touches the net of %s", name, w.ID, other)
			}
			if other, ok := partOf[n]; ok && other != p {
				t.Fatalf("%s: %s is apart from the rest of its net (%s)", name, w.ID, n)
			}
			netOf[p], partOf[n] = n, p
		}
	})
}

// The drawing of each sheet, as a list of symbols in reading order, stays as it is.
func TestGolden(t *testing.T) {
	var b bytes.Buffer
	sheets(t, func(name string, u *netlist.Unit, marks map[string]string) {
		d := Layout(u, Changes(marks)...)
		one, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		two, err := json.Marshal(Layout(u, Changes(marks)...))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(one, two) {
			t.Errorf("%s is drawn differently the second time", name)
		}
		fmt.Fprintf(&b, "%s: %.0f x %.0f, %d lines, %d labels\n", name, d.W, d.H, len(d.Lines), len(d.Labels))
		for _, s := range d.Symbols {
			fmt.Fprintf(&b, "  %5.0f %5.0f  %-11s %s %s%s\n", s.X, s.Y, s.Kind, s.Device, s.Name, strings.ToUpper(strings.TrimSuffix(" "+s.Mark, " ")))
		}
	})
	file := filepath.Join("testdata", "symbols.golden")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := b.Bytes(); !bytes.Equal(got, want) {
		g, w := strings.Split(b.String(), "\n"), strings.Split(string(want), "\n")
		for i := range g {
			if i >= len(w) || g[i] != w[i] {
				t.Fatalf("line %d is %q and was %q; if that is meant, run with -update and look at the pictures", i+1, g[i], w[min(i, len(w)-1)])
			}
		}
		t.Fatalf("%d lines, were %d", len(g), len(w))
	}
}

// A unit that cannot be drawn gives a sheet that says why.
func TestBrokenUnitSaysWhy(t *testing.T) {
	u, err := netlist.Load("two-contactor-digital")
	if err != nil {
		t.Fatal(err)
	}
	u.Conductors[0].To = "XX.9"
	d := Layout(u)
	if len(d.Labels) != 1 || !strings.Contains(d.Labels[0].Text, "dangling") {
		t.Errorf("drawing %+v", d)
	}
}

// On a Letter page on its side, 9.9 inches between the margins, no word of a drawing
// for paper is smaller than 7 points, nor do two words lie on one another.
func TestPaperIsLegible(t *testing.T) {
	const wide = 9.9 * 72
	sheets(t, func(name string, u *netlist.Unit, marks map[string]string) {
		d := Layout(u, Changes(marks)...)
		least := math.Inf(1)
		for _, l := range d.Labels {
			least = min(least, l.Size)
		}
		if pt := least * min(1, wide/d.W); pt < 7 {
			t.Errorf("%s: words of %.1f points on paper, %.0f wide", name, pt, d.W)
		}
		for i, a := range d.Labels {
			for _, b := range d.Labels[:i] {
				if overlap(a, b) {
					t.Errorf("%s: %q lies on %q", name, a.Text, b.Text)
				}
			}
		}
	})
}

// overlap tells whether two labels lie on one another, by a usual width of type.
func overlap(a, b Label) bool {
	span := func(l Label) (x0, x1 float64) {
		w := 0.5 * l.Size * float64(len([]rune(l.Text)))
		switch l.Anchor {
		case "middle":
			return l.X - w/2, l.X + w/2
		case "end":
			return l.X - w, l.X
		}
		return l.X, l.X + w
	}
	a0, a1 := span(a)
	b0, b1 := span(b)
	return a0 < b1-1 && b0 < a1-1 && math.Abs(a.Y-b.Y) < 0.6*min(a.Size, b.Size)
}
