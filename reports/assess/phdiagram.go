package assess

import (
	"math"

	"retrostage/thermo/fluid"
)

// PHDiagram is the pressure-enthalpy diagram of a refrigerant with what was
// measured on it, SI.
type PHDiagram struct {
	Fluid     string
	Dome      fluid.Dome
	Isotherms []fluid.Tie
	Cycle     []Point
	Earlier   []Earlier // the sets of readings before, oldest first
	Coils     []Tie     // across the dome at the pressures of the coils
}

// Earlier is the cycle of another set of readings.
type Earlier struct {
	Number int
	Points []Point
}

// Tie is a line across the dome at one pressure; Glides tells that its ends
// differ in temperature by more than the readings could blur.
type Tie struct {
	fluid.Tie
	Glides bool
}

const (
	glideSeen = 0.3  // K; less is within what a pipe clamp reads
	sameCoil  = 0.05 // pressures closer than this, by their logarithms, belong to one coil
)

// PHDiagramOf is the diagram of the refrigerant called name, with isotherms at
// origin + k step (K, k a whole number), and the cycle of a report where there is
// one. The error says why there is no dome.
func PHDiagramOf(name string, r *Report, origin, step float64) (*PHDiagram, error) {
	dome, err := fluid.DomeOf(name)
	if err != nil {
		return nil, err
	}
	f, err := fluid.Get(name)
	if err != nil {
		return nil, err
	}
	d := &PHDiagram{Fluid: name, Dome: dome, Isotherms: f.Isotherms(origin, step)}
	if r == nil || r.Cycle == nil {
		return d, nil
	}
	d.Cycle = r.Cycle.Points
	for _, x := range r.Sets {
		if x.Cycle != nil && !x.used {
			d.Earlier = append(d.Earlier, Earlier{x.Number, x.Cycle.Points})
		}
	}
	for _, c := range d.Cycle {
		if d.hasCoil(c.P) {
			continue
		}
		if t, err := f.Isobar(c.P); err == nil { // none above the critical pressure
			d.Coils = append(d.Coils, Tie{t, t.T[1]-t.T[0] > glideSeen})
		}
	}
	return d, nil
}

func (d *PHDiagram) hasCoil(p float64) bool {
	for _, t := range d.Coils {
		if math.Abs(math.Log(t.P[0]/p)) < sameCoil {
			return true
		}
	}
	return false
}
