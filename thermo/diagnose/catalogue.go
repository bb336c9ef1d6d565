package diagnose

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"sync"

	"retrostage/assets"
	"retrostage/thermo/cycle"
)

// Catalogue is the causes as people read them, with the tests that tell them apart.
type Catalogue struct {
	Causes []Entry `json:"causes"`
	Probes struct {
		Prior   float64 `json:"prior"`
		Test    string  `json:"test"`
		Minutes float64 `json:"minutes"`
	} `json:"probes"`
}

// Entry is one cause.
type Entry struct {
	ID    string      `json:"id"`
	Fault cycle.Fault `json:"fault"`
	Label string      `json:"label"`
	Bore  string      `json:"label_fixed"` // the label for a fixed bore, where it is another
	Prior float64     `json:"prior"`
	Tests []struct {
		Do      string   `json:"do"`
		Minutes float64  `json:"minutes"`
		Against []string `json:"against"` // rivals it tells apart; empty: it confirms
		Device  string   `json:"device"`  // "valve" or "fixed": the metering device it is for; empty: any
	} `json:"tests"`
}

var catalogue = sync.OnceValues(func() (*Catalogue, error) { return ReadCatalogue(assets.FS, "targets/faults.json") })

// ReadCatalogue reads and checks a catalogue: every fault of package cycle but
// Healthy exactly once, with a prior and a test.
func ReadCatalogue(fsys fs.FS, name string) (*Catalogue, error) {
	b, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, fmt.Errorf("diagnose: %w", err)
	}
	c := new(Catalogue)
	if err := json.Unmarshal(b, c); err != nil {
		return nil, fmt.Errorf("diagnose: %s: %w", name, err)
	}
	seen := map[cycle.Fault]bool{}
	for _, e := range c.Causes {
		if e.Fault <= cycle.Healthy || int(e.Fault) >= cycle.Faults || seen[e.Fault] || !(e.Prior > 0) || len(e.Tests) == 0 || e.Label == "" {
			return nil, fmt.Errorf("diagnose: %s: cause %q (fault %d) is unknown, doubled, or lacks prior, label or test", name, e.ID, e.Fault)
		}
		seen[e.Fault] = true
	}
	if len(seen) != cycle.Faults-1 || !(c.Probes.Prior > 0) {
		return nil, fmt.Errorf("diagnose: %s: %d causes; allowed %d", name, len(seen), cycle.Faults-1)
	}
	return c, nil
}

func (c *Catalogue) entry(f cycle.Fault) *Entry {
	for i := range c.Causes {
		if c.Causes[i].Fault == f {
			return &c.Causes[i]
		}
	}
	return nil
}

func (c *Catalogue) id(x *Cause) string {
	if x.IsProbe {
		return x.Probe.Key()
	}
	return c.entry(x.Fault).ID
}

// label is what a cause is called at a machine.
func (e *Entry) label(fixed bool) string {
	if fixed && e.Bore != "" {
		return e.Bore
	}
	return e.Label
}

// choose gives each of the first causes its cheapest test against its likeliest
// rival, or if none is known its cheapest test, of those for the metering device.
func (c *Catalogue) choose(r *Report, fixed bool) {
	other := "fixed"
	if fixed {
		other = "valve"
	}
	for i := range r.Causes {
		x := &r.Causes[i]
		if x.IsProbe {
			x.Next = Test{c.Probes.Test, c.Probes.Minutes}
			continue
		}
		rival := 0
		if i == 0 {
			rival = 1
		}
		for _, want := range []bool{true, false} {
			for _, t := range c.entry(x.Fault).Tests {
				fits := !want || rival < len(r.Causes) && slices.Contains(t.Against, c.id(&r.Causes[rival]))
				if fits && t.Device != other && (x.Next.Do == "" || t.Minutes < x.Next.Minutes) {
					x.Next = Test{t.Do, t.Minutes}
				}
			}
			if x.Next.Do != "" {
				break
			}
		}
	}
}
