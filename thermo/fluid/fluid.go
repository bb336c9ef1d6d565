package fluid

import (
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"
)

type kind int

const (
	pure kind = iota
	pseudoPure
	blendKind
)

// A Fluid is a refrigerant at its fixed composition. Get returns one; its
// methods never change it visibly and may be called from many goroutines.
type Fluid struct {
	name, citation, class string
	parts                 []Part
	kind                  kind

	model *model
	z     vec      // mole fractions
	res   residual // alphar at composition z

	m, r             float64 // kg/mol, J/(mol K)
	tr, rhor         float64 // reducing point at z: K, mol/m3
	tmin, tmax, pmax float64
	tc, pc, rhoc     float64 // published; zero for a blend: from its own lines

	curve, rhoGuess [2]ancillary // pseudo-pure: the published lines

	traceOnce [2]sync.Once
	traces    [2]trace
	traceErr  [2]error
	endsOf    [2]atomic.Pointer[ends]

	fastOnce sync.Once
	gasOnce  sync.Once
	gasTab   *gasTable // built on first use
	fast     [2]satLine
	fastErr  error
}

// Phase names the state of aggregation.
type Phase int

// A fluid at or above its critical temperature and pressure is Supercritical;
// above the critical temperature alone it is Vapour, above the critical
// pressure alone it is Liquid.
const (
	Liquid Phase = iota
	Vapour
	TwoPhase
	Supercritical
)

func (p Phase) String() string {
	if p < Liquid || p > Supercritical {
		return fmt.Sprintf("Phase(%d)", int(p))
	}
	return [...]string{"liquid", "vapour", "two-phase", "supercritical"}[p]
}

// A State is everything the equation of state tells about one point.
type State struct {
	T, P, Rho float64 // K, Pa absolute, kg/m3
	H, S, U   float64 // J/kg, J/(kg K), J/kg
	Cp, Cv    float64 // J/(kg K); zero (absent) when two-phase
	W         float64 // speed of sound, m/s; zero (absent) when two-phase
	Q         float64 // vapour quality by mass in [0,1]; 0 in Liquid, 1 in other single phases
	Phase     Phase
}

// Errors that callers may want to tell apart with errors.Is.
var (
	ErrRange      = errors.New("outside the equation's range")
	ErrTwoPhase   = errors.New("two phases: temperature and pressure do not fix the state")
	ErrMetastable = errors.New("metastable: the phase asked for is not the stable one")
)

// Name returns the fluid's name as in Names.
func (f *Fluid) Name() string { return f.name }

// Citation names the published equation of state.
func (f *Fluid) Citation() string { return f.citation }

// Limits returns the range of the published equation: lowest and highest
// temperature in K and highest pressure in Pa. For blends the narrowest of the
// components'.
func (f *Fluid) Limits() (tmin, tmax, pmax float64) { return f.tmin, f.tmax, f.pmax }

// Critical returns the critical temperature (K), pressure (Pa) and density
// (kg/m3): the published values for pure and pseudo-pure fluids; for blends the
// end point of the traced bubble line.
func (f *Fluid) Critical() (t, p, rho float64) {
	if f.kind != blendKind {
		return f.tc, f.pc, f.rhoc * f.m
	}
	tr, err := f.traced(bubble)
	if err != nil {
		return 0, 0, 0
	}
	k := tr.end()
	return math.Exp(k.lnT), math.Exp(k.lnP), math.Exp(k.y[0]) * f.m
}

// traced returns the knots of a line, built on first use.
func (f *Fluid) traced(line side) (*trace, error) {
	f.traceOnce[line].Do(func() { f.traces[line], f.traceErr[line] = f.trace(line) })
	if f.traceErr[line] != nil {
		return nil, fmt.Errorf("%s: %w", f.name, f.traceErr[line])
	}
	return &f.traces[line], nil
}
