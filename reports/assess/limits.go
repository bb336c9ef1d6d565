package assess

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"sync"

	"retrostage/assets"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// limit is one row of assets/limits: a band and the words that go with it.
type limit struct {
	Finding    string      `json:"finding"`
	Low        *float64    `json:"low"`
	High       *float64    `json:"high"`
	PlusMinus  *float64    `json:"plus_minus"` // around a target that the rule supplies
	Matters    float64     `json:"matters"`    // with plus_minus 0: the difference that matters
	Percent    float64     `json:"percent"`    // of a target that the rule supplies
	PercentOf  *record.Key `json:"percent_of"` // the field whose pick is that percentage
	HighOf     *record.Key `json:"high_of"`    // the stated field that is the upper limit
	Unit       string      `json:"unit"`
	SI         *metric     `json:"si"`   // as a person writes it in metric units, never laxer
	When       string      `json:"when"` // "valve" or "fixed": the metering device it belongs to, for readers
	Source     string      `json:"source"`
	Confidence string      `json:"confidence"`
	NextLow    string      `json:"next_low"`
	NextHigh   string      `json:"next_high"`
	NextOK     string      `json:"next_ok"`
}

// metric is the band of a row in metric numbers. Where it differs from the row's, it is
// what a metric job is held to: what is shown is what is judged.
type metric struct {
	Low       *float64 `json:"low"`
	High      *float64 `json:"high"`
	PlusMinus *float64 `json:"plus_minus"`
	Matters   float64  `json:"matters"`
	Unit      string   `json:"unit"`
	NextOK    string   `json:"next_ok"`
}

// in are the limits as one system of units writes them.
func (l *limits) in(s units.System) *limits {
	if s != units.SI {
		return l
	}
	out := *l
	out.byFinding = map[string]limit{}
	for k, r := range l.byFinding {
		if m := r.SI; m != nil {
			r.Low, r.High, r.PlusMinus, r.Matters, r.Unit = m.Low, m.High, m.PlusMinus, m.Matters, m.Unit
			r.NextOK = cmp.Or(m.NextOK, r.NextOK)
		}
		out.byFinding[k] = r
	}
	return &out
}

// class is the accuracy assumed for a reading whose instrument is not named.
type class struct {
	Class   string          `json:"class"`
	Dim     units.Dimension `json:"dimension"`
	Plus    float64         `json:"plus"`
	Unit    string          `json:"unit"`
	Percent float64         `json:"percent"`
	Source  string          `json:"source"`
}

// assumedRow is a number that nobody reads and a computation needs: it enters like
// a reading, with its doubt. Plus is a rectangular half-width.
type assumedRow struct {
	Key    string  `json:"key"`
	Label  string  `json:"label"`
	Value  float64 `json:"value"`
	Plus   float64 `json:"plus"`
	Source string  `json:"source"`
}

type limits struct {
	Note    string  `json:"note"`
	Limits  []limit `json:"limits"`
	Classes []class `json:"classes"`
	Site    struct {
		HalfWidth float64 `json:"weather_half_width_Pa"`
		Unknown   float64 `json:"unknown_height_half_width_Pa"`
		Source    string  `json:"source"`
	} `json:"site"`
	Assumed []assumedRow `json:"assumed"`
	Steady  struct {
		Minutes float64 `json:"minutes"`
		Lines   int     `json:"lines"`
		Source  string  `json:"source"`
		Spans   []struct {
			Dim     units.Dimension `json:"dimension"`
			Unit    string          `json:"unit"`
			Drift   float64         `json:"drift"`
			Scatter float64         `json:"scatter"`
		} `json:"spans"`
	} `json:"steady"`
	// Rise is how well a vacuum gauge repeats itself.
	Rise struct {
		Plus    float64 `json:"plus"`
		Unit    string  `json:"unit"`
		Percent float64 `json:"percent"`
		Drift   float64 `json:"drift_percent"` // of the reading, during a hold
		Source  string  `json:"source"`
	} `json:"rise"`
	// Evacuation is the plan where pulls are broken with dry nitrogen.
	Evacuation struct {
		Pull    float64 `json:"pull_micron"`
		Break   float64 `json:"break_psig"`
		Minutes float64 `json:"minutes"`
		Breaks  int     `json:"breaks"`
		Source  string  `json:"source"`
	} `json:"evacuation"`
	Map struct {
		Unit          string  `json:"unit"`
		SuctionLow    float64 `json:"suction_low"`
		SuctionHigh   float64 `json:"suction_high"`
		DischargeLow  float64 `json:"discharge_low"`
		DischargeHigh float64 `json:"discharge_high"`
		Source        string  `json:"source"`
	} `json:"map"`
	Correlation struct {
		Same   float64 `json:"same_instrument"`
		Source string  `json:"source"`
	} `json:"correlation"`

	// Repeat is how far apart in time a reading and its repeat are.
	Repeat struct {
		Minutes float64 `json:"minutes"`
		Source  string  `json:"source"`
	} `json:"repeat"`

	// Late is within how many minutes of its reading a number is typed.
	Late struct {
		Minutes float64 `json:"minutes"`
		Source  string  `json:"source"`
	} `json:"late"`

	byFinding map[string]limit
	byClass   map[string]class
}

var confidences = map[string]Confidence{
	"read": ReadSource, "second-hand": SecondHand, "computed": Computed, "memory": FromMemory,
	"practice": Practice, "plate": FromPlate, "law": LawOfNature,
}

// loadLimits reads the shipped table once. A table that cannot be read is a
// fault of the build, found by the tests.
var loadLimits = sync.OnceValues(func() (*limits, error) {
	b, err := assets.FS.ReadFile("limits/limits.json")
	if err != nil {
		return nil, err
	}
	return parseLimits(b)
})

func parseLimits(b []byte) (*limits, error) {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	l := &limits{byFinding: map[string]limit{}, byClass: map[string]class{}}
	if err := d.Decode(l); err != nil {
		return nil, fmt.Errorf("limits: %w", err)
	}
	for _, r := range l.Limits {
		if _, twice := l.byFinding[r.Finding]; twice {
			return nil, fmt.Errorf("limits: %s stands twice", r.Finding)
		}
		if confidences[r.Confidence] == "" || r.Source == "" {
			return nil, fmt.Errorf("limits: %s: confidence %q, source %q", r.Finding, r.Confidence, r.Source)
		}
		for _, k := range []*record.Key{r.PercentOf, r.HighOf} {
			if k == nil {
				continue
			}
			if _, err := record.ByKey(*k); err != nil {
				return nil, fmt.Errorf("limits: %s: %w", r.Finding, err)
			}
		}
		l.byFinding[r.Finding] = r
	}
	for _, c := range l.Classes {
		if _, err := units.Lookup(c.Dim, c.Unit); err != nil {
			return nil, fmt.Errorf("limits: class %s: %w", c.Class, err)
		}
		l.byClass[c.Class] = c
	}
	return l, nil
}

// band builds the band of row r for a quantity of dimension dim, in SI.
// target is NaN where the rule supplies none.
func (r limit) band(dim units.Dimension, target float64) (Band, error) {
	u, err := units.Lookup(dim, r.Unit)
	if err != nil {
		return Band{}, fmt.Errorf("limits: %s: %w", r.Finding, err)
	}
	var b Band
	side := func(x *float64) *float64 {
		if x == nil {
			return nil
		}
		si := u.ToSI(*x, 0)
		return &si
	}
	b.Low, b.High = side(r.Low), side(r.High)
	if !math.IsNaN(target) {
		half := math.Abs(target) * r.Percent / 100
		if r.PlusMinus != nil {
			half = u.SpanSI(*r.PlusMinus)
		}
		if r.PlusMinus != nil || r.Percent > 0 {
			lo, hi := target-half, target+half
			b.Low, b.High = &lo, &hi
		}
		b.Target = &target
	}
	return b, nil
}
