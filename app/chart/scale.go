package chart

import (
	"math"
)

// Scale is the horizontal scale of one finding, in the unit it is shown in: the
// allowed band, the target's tick, the value's dot and the whisker of its
// uncertainty. Value and Half may be NaN or infinite; such a value is treated as
// absent.
type Scale struct {
	Value  float64  // shown only when Has is set
	Half   float64  // half the width of the whisker, >= 0
	Has    bool     // false: not measured
	Low    *float64 // lower end of the allowed band, nil: open below
	High   *float64 // upper end of the allowed band, nil: open above
	Target *float64 // nil: no target
}

// Tick is a labelled place on the scale.
type Tick struct {
	At   float64 // fraction of the scale
	Text string
}

// Geometry is where everything goes. Fractions lie in [0,1].
type Geometry struct {
	Scaled   bool // false: no limit and no target, so there is no scale to draw
	Min, Max float64
	HasBand  bool
	OpenLow  bool // the band runs off the left end
	OpenHigh bool // the band runs off the right end
	BandLow  float64
	BandHigh float64

	HasTarget bool
	Target    float64

	HasValue  bool
	Value     float64
	WhiskLow  float64
	WhiskHigh float64
	OffLow    bool // the value lies beyond the left end: draw an arrow, not a dot
	OffHigh   bool
	Ticks     []Tick
}

// reach is how far the scale may stretch beyond the band, in band widths, to
// keep a value on it. Beyond that the band would be too thin to read.
const reach = 6

// Lay places the marks, each a fraction of the scale's length, 0 at its left end
// and 1 at its right, so that the same figures serve a widget, a sheet of paper
// and a cell of a table. The scale is chosen from the band and the target first
// and stretched only when the value needs it: while a reading is being typed the
// band stays where the eye left it. It never returns NaN, whatever is put in.
func Lay(in Scale) Geometry {
	low, high, target := finite(in.Low), finite(in.High), finite(in.Target)
	has := in.Has && finiteNumber(in.Value)
	half := in.Half
	if !finiteNumber(half) || half < 0 {
		half = 0
	}
	if low != nil && high != nil && *low > *high {
		low, high = high, low
	}

	var g Geometry
	g.HasValue = has
	if low == nil && high == nil && target == nil {
		return g
	}
	g.Scaled = true
	g.HasBand = low != nil || high != nil
	g.OpenLow = g.HasBand && low == nil
	g.OpenHigh = g.HasBand && high == nil

	lo, hi := core(low, high, target)
	width := hi - lo
	min, max := lo-0.6*width, hi+0.6*width
	if notNegative(low, high, target) && lo >= 0 && min < 0 && (!has || in.Value >= 0) {
		min = 0
	}
	if has {
		if v := in.Value - half; v < min {
			min = math.Max(v-0.15*width, lo-reach*width)
		}
		if v := in.Value + half; v > max {
			max = math.Min(v+0.15*width, hi+reach*width)
		}
	}
	step := niceStep((max - min) / 4)
	if math.Abs(min) > 1e-12*width {
		min = math.Floor(min/step*2+1e-9) * step / 2
	}
	max = math.Ceil(max/step*2-1e-9) * step / 2
	g.Min, g.Max = min, max

	at := func(v float64) float64 { return fraction((v - min) / (max - min)) }
	if g.HasBand {
		g.BandLow, g.BandHigh = 0, 1
		if low != nil {
			g.BandLow = at(*low)
		}
		if high != nil {
			g.BandHigh = at(*high)
		}
	}
	if target != nil {
		g.HasTarget = true
		g.Target = at(*target)
	}
	if has {
		g.Value = at(in.Value)
		g.WhiskLow = at(in.Value - half)
		g.WhiskHigh = at(in.Value + half)
		g.OffLow = in.Value < min
		g.OffHigh = in.Value > max
	}
	values, words := every(step, min, max)
	for i, v := range values {
		g.Ticks = append(g.Ticks, Tick{At: at(v), Text: words[i]})
	}
	return g
}

// core is the stretch the scale must show well: the band, or a stretch about a
// single limit or target wide enough to judge a distance by.
func core(low, high, target *float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range []*float64{low, high, target} {
		if p != nil {
			lo, hi = math.Min(lo, *p), math.Max(hi, *p)
		}
	}
	if hi-lo <= 1e-9*math.Max(math.Abs(lo), math.Abs(hi)) {
		pad := 0.25 * math.Abs(lo)
		if pad == 0 {
			pad = 1
		}
		lo, hi = lo-pad, hi+pad
	}
	return lo, hi
}

func notNegative(ps ...*float64) bool {
	for _, p := range ps {
		if p != nil && *p < 0 {
			return false
		}
	}
	return true
}

func finite(p *float64) *float64 {
	if p == nil || !finiteNumber(*p) {
		return nil
	}
	return p
}

// finiteNumber leaves room for sums and differences.
func finiteNumber(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) && math.Abs(v) < 1e300 }

func fraction(f float64) float64 {
	if !(f > 0) {
		return 0
	}
	return math.Min(f, 1)
}
