package target

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"sync"

	"retrostage/assets"
)

// Target is what a difference of temperatures ought to be.
type Target struct {
	Value      float64 // K
	U          float64 // K, standard uncertainty of the target itself
	Source     string
	Confidence string
}

// Tables are the targets and windows of one JSON set.
type Tables struct {
	superheat superheat
	split     split
	windows   windows
}

type provenance struct {
	Title      string  `json:"title"`
	Source     string  `json:"source"`
	Confidence string  `json:"confidence"`
	Doubt      float64 `json:"doubt"` // half-width, F
}

type superheat struct {
	provenance
	Blank string       `json:"blank"`
	WB    []float64    `json:"return_wet_bulb"`
	ODB   []float64    `json:"outdoor_dry_bulb"`
	Cells [][]*float64 `json:"cells"`
}

type split struct {
	provenance
	C      [4]float64         `json:"c"`
	WB0    float64            `json:"wb0"`
	DB0    float64            `json:"db0"`
	DB     [2]float64         `json:"return_dry_bulb"`
	WB     [2]float64         `json:"return_wet_bulb"`
	Lowest map[string]float64 `json:"lowest_wet_bulb"`
}

// Window is a range of one weather reading outside which a check is not valid.
type Window struct {
	Check, Quantity string
	Min, Max        float64 // K
	Below, Above    string  // what to do instead
	Source          string
	Confidence      string
}

type windows struct {
	Windows []Window `json:"windows"`
	Settle  struct {
		Value              float64
		Source, Confidence string
	} `json:"settle_minutes"`
}

// Load returns the tables that the program ships.
var Load = sync.OnceValues(func() (*Tables, error) { return Read(assets.FS, "targets") })

// Read reads superheat.json, split.json and windows.json from a folder, so that
// a recalled table can be replaced by the printed one.
func Read(fsys fs.FS, folder string) (*Tables, error) {
	t := new(Tables)
	for name, v := range map[string]any{"superheat": &t.superheat, "split": &t.split, "windows": &t.windows} {
		b, err := fs.ReadFile(fsys, folder+"/"+name+".json")
		if err == nil {
			err = json.Unmarshal(b, v)
		}
		if err != nil {
			return nil, fmt.Errorf("target: %s: %w", name, err)
		}
	}
	s := &t.superheat
	if len(s.Cells) != len(s.ODB) || len(s.ODB) < 2 || len(s.WB) < 2 || !rising(s.ODB) || !rising(s.WB) {
		return nil, fmt.Errorf("target: superheat: %d rows for %d outdoor temperatures, both axes to rise", len(s.Cells), len(s.ODB))
	}
	for i, row := range s.Cells {
		if len(row) != len(s.WB) {
			return nil, fmt.Errorf("target: superheat: row %g F has %d cells; allowed %d", s.ODB[i], len(row), len(s.WB))
		}
	}
	for i := range t.windows.Windows {
		w := &t.windows.Windows[i]
		w.Min, w.Max = kelvin(w.Min), kelvin(w.Max)
	}
	return t, nil
}

// Superheat is the target for a fixed metering device at return wet bulb wb and
// outdoor dry bulb odb, K. It refuses outside the table and where the table is
// blank.
func (t *Tables) Superheat(wb, odb float64) (Target, error) {
	s := &t.superheat
	i, a, err := cell("outdoor dry bulb", s.ODB, odb)
	if err != nil {
		return Target{}, err
	}
	j, b, err := cell("return wet bulb", s.WB, wb)
	if err != nil {
		return Target{}, err
	}
	v := 0.0
	for _, c := range []struct {
		w    float64
		i, j int
	}{{(1 - a) * (1 - b), i, j}, {(1 - a) * b, i, j + 1}, {a * (1 - b), i + 1, j}, {a * b, i + 1, j + 1}} {
		if c.w == 0 {
			continue
		}
		f := s.Cells[c.i][c.j]
		if f == nil {
			return Target{}, fmt.Errorf("target: no superheat target at return wet bulb %.1f F, outdoor %.1f F: %s", fahrenheit(wb), fahrenheit(odb), s.Blank)
		}
		v += c.w * *f
	}
	return s.target(v), nil
}

// Split is the target of return less supply dry bulb at return dry bulb db and
// wet bulb wb, K.
func (t *Tables) Split(db, wb float64) (Target, error) {
	s := &t.split
	d, w := fahrenheit(db), fahrenheit(wb)
	if err := inside("return dry bulb", d, s.DB[0], s.DB[1]); err != nil {
		return Target{}, err
	}
	lowest := s.WB[0]
	// Between two printed columns the higher of the two limits holds.
	for _, col := range []float64{math.Floor(d + tiny), math.Ceil(d - tiny)} {
		lowest = max(lowest, s.Lowest[strconv.Itoa(int(col))])
	}
	if err := inside("return wet bulb", w, lowest, min(s.WB[1], d)); err != nil {
		return Target{}, err
	}
	x := w - s.WB0
	return s.target(s.C[0] + x*(s.C[1]+x*s.C[2]) + s.C[3]*(d-s.DB0)), nil
}

// Windows are the windows of a check: "superheat", "subcooling" or "split".
func (t *Tables) Windows(check string) []Window {
	var out []Window
	for _, w := range t.windows.Windows {
		if w.Check == check {
			out = append(out, w)
		}
	}
	return out
}

// Holds reports that a reading, K, lies outside the window and what to do
// instead; nil means that it lies inside.
func (w Window) Holds(reading float64) error {
	what := fmt.Sprintf("target: %s %.1f F is outside %.0f to %.0f F, where the %s check holds", w.Quantity, fahrenheit(reading), fahrenheit(w.Min), fahrenheit(w.Max), w.Check)
	switch {
	case reading < w.Min-tiny:
		return fmt.Errorf("%s: %s", what, w.Below)
	case reading > w.Max+tiny:
		return fmt.Errorf("%s: %s", what, w.Above)
	case math.IsNaN(reading):
		return fmt.Errorf("target: %s is not a number", w.Quantity)
	}
	return nil
}

// Settle is how long to wait, s, before final readings, and why.
func (t *Tables) Settle() (seconds float64, source, confidence string) {
	s := t.windows.Settle
	return s.Value * 60, s.Source, s.Confidence
}

func (p provenance) target(f float64) Target {
	return Target{Value: f / 1.8, U: p.Doubt / 1.8 / math.Sqrt(3), Source: p.Source, Confidence: p.Confidence}
}

// tiny, in K or F, absorbs the rounding of a conversion at the end of a range.
const tiny = 1e-9

// cell finds the interval [i, i+1] of a rising axis, F, that holds t, K, and how
// far along it lies, 0 to 1.
func cell(what string, axis []float64, t float64) (i int, along float64, err error) {
	n := len(axis)
	f := fahrenheit(t)
	if err := inside(what, f, axis[0], axis[n-1]); err != nil {
		return 0, 0, err
	}
	i, _ = slices.BinarySearch(axis, f)
	i = max(0, min(i-1, n-2))
	along = (f - axis[i]) / (axis[i+1] - axis[i])
	if along < tiny {
		along = 0
	} else if along > 1-tiny {
		along = 1
	}
	return i, along, nil
}

func inside(what string, f, lo, hi float64) error {
	if f >= lo-tiny && f <= hi+tiny {
		return nil
	}
	return fmt.Errorf("target: %s %.1f F; the table covers %g to %g F", what, f, lo, hi)
}

func rising(axis []float64) bool {
	for i := 1; i < len(axis); i++ {
		if !(axis[i] > axis[i-1]) {
			return false
		}
	}
	return true
}

func fahrenheit(t float64) float64 { return t*1.8 - 459.67 }
func kelvin(f float64) float64     { return (f + 459.67) / 1.8 }
