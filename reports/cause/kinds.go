package cause

import (
	"encoding/json"
	"fmt"
	"math"
	"sync"

	"retrostage/assets"
)

// Kind is what failed.
type Kind int

// The kinds, in the order of the table.
const (
	Grounded Kind = iota
	OpenStart
	OpenRun
	OverloadOpen
	ShortedTurns
	Seized
	Worn
	Flooded
	Overheated
	NoFault
	kinds
)

var kindWords = [kinds]string{"grounded winding", "open start winding", "open run winding", "internal overload open for good", "shorted turns", "seized",
	"worn or leaking inside", "broken by liquid", "overheated", "no fault in the compressor"}

// String is the kind in the trade's words.
func (k Kind) String() string { return kindWords[k] }

// Category is one outcome of an observation and how often it goes with each kind.
type Category struct {
	Key, Words string
	P          [kinds]float64
	Part       bool // what a test left half done leaves together; no outcome of its own
}

// Observation is one thing that can be looked at.
type Observation struct {
	Key, Label, Do string
	When           string // ask, live, dead, data, try, open: what has to be so before it
	Minutes        float64
	Categories     []Category
}

// table is assets/limits/cause.json.
type table struct {
	Note, Confidence string
	Kinds            []string
	Prior            [kinds]float64
	Observations     []Observation
}

var load = sync.OnceValues(func() (*table, error) {
	b, err := assets.FS.ReadFile("limits/cause.json")
	if err != nil {
		return nil, fmt.Errorf("cause: %w", err)
	}
	var t table
	if err := json.Unmarshal(b, &t); err != nil {
		return nil, fmt.Errorf("cause: %w", err)
	}
	return &t, t.check()
})

func (t *table) check() error {
	if len(t.Kinds) != int(kinds) {
		return fmt.Errorf("cause: %d kinds in the table, %d known", len(t.Kinds), kinds)
	}
	for _, o := range t.Observations {
		for k := range kinds {
			sum := 0.0
			for _, c := range o.Categories {
				if !(c.P[k] > 0 && c.P[k] < 1) {
					return fmt.Errorf("cause: %s, %s, %s: %g; allowed above 0 and below 1", o.Key, c.Key, k, c.P[k])
				}
				if !c.Part {
					sum += c.P[k]
				}
			}
			if math.Abs(sum-1) > 1e-9 {
				return fmt.Errorf("cause: %s: the column of %s adds up to %g", o.Key, k, sum)
			}
		}
	}
	return nil
}
