package fluid

import (
	"fmt"
	"math"
	"sync"
)

// SaturationLine is one side of the dome, from low to high pressure: enthalpies
// (J/kg) and pressures (Pa).
type SaturationLine struct{ H, P []float64 }

// Dome is the saturation lines of a refrigerant for a picture.
type Dome struct{ Bubble, Dew SaturationLine }

// Tie joins boiling liquid and the vapour at its dew point: at one temperature,
// or at one pressure. The first of each pair is the liquid. SI.
type Tie struct{ T, P, H [2]float64 }

const (
	domePoints = 140
	domeLow    = 0.62     // of the critical temperature: below it no cooling unit runs
	domeTop    = 1 - 4e-4 // the critical point itself is left out: the two lines merge there
	tieTop     = 0.985    // higher up the two ends can hardly be told apart
)

var domes sync.Map // name to func() (Dome, error)

// DomeOf is the dome of the refrigerant called name, reckoned once. The error
// says what cannot be drawn.
func DomeOf(name string) (Dome, error) {
	once, ok := domes.Load(name)
	if !ok {
		once, _ = domes.LoadOrStore(name, sync.OnceValues(func() (Dome, error) { return newDome(name) }))
	}
	return once.(func() (Dome, error))()
}

func newDome(name string) (d Dome, err error) {
	f, err := Get(name)
	if err != nil {
		return d, err
	}
	lo, top := f.domeRange(domeTop)
	for i := range domePoints {
		// Closer together towards the critical point, where the dome bends.
		x := 1 - float64(i)/(domePoints-1)
		t := top - (top-lo)*x*x
		b, err1 := f.Bubble(t)
		v, err2 := f.Dew(t)
		if err1 != nil || err2 != nil {
			continue
		}
		d.Bubble.H, d.Bubble.P = append(d.Bubble.H, b.H), append(d.Bubble.P, b.P)
		d.Dew.H, d.Dew.P = append(d.Dew.H, v.H), append(d.Dew.P, v.P)
	}
	if len(d.Bubble.H) < 10 {
		return d, fmt.Errorf("%s: the dome cannot be drawn", name)
	}
	return d, nil
}

// domeRange is the temperatures (K) between which the dome is drawn; top is a
// fraction of the critical one.
func (f *Fluid) domeRange(top float64) (lo, hi float64) {
	tc, _, _ := f.Critical()
	lo, _, _ = f.Limits()
	return math.Max(lo, domeLow*tc), top * tc
}

// Isotherms are ties across the dome at the temperatures origin + k step (K), k a
// whole number: level for a pure fluid, sloping for a blend by as much as it
// glides. The step must be above zero; else there are none.
func (f *Fluid) Isotherms(origin, step float64) (out []Tie) {
	if !(step > 0) || math.IsInf(step, 0) {
		return nil
	}
	lo, hi := f.domeRange(tieTop)
	for k := math.Ceil((lo - origin) / step); origin+k*step < hi; k++ {
		t := origin + k*step
		b, err1 := f.Bubble(t)
		v, err2 := f.Dew(t)
		if err1 == nil && err2 == nil {
			out = append(out, Tie{T: [2]float64{t, t}, P: [2]float64{b.P, v.P}, H: [2]float64{b.H, v.H}})
		}
	}
	return out
}

// Isobar is the tie across the dome at a pressure (Pa): its ends are the bubble
// and the dew temperature there.
func (f *Fluid) Isobar(p float64) (t Tie, err error) {
	tb, err := f.BubbleT(p)
	if err != nil {
		return t, err
	}
	td, err := f.DewT(p)
	if err != nil {
		return t, err
	}
	b, err := f.Bubble(tb)
	if err != nil {
		return t, err
	}
	v, err := f.Dew(td)
	if err != nil {
		return t, err
	}
	return Tie{T: [2]float64{tb, td}, P: [2]float64{p, p}, H: [2]float64{b.H, v.H}}, nil
}
