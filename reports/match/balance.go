package match

import (
	"fmt"
	"math"

	"retrostage/thermo/air"
	"retrostage/thermo/compressor"
	"retrostage/thermo/cycle"
)

// At is what a compressor does with the coils in one weather.
type At struct {
	Outdoor                 float64 // K
	Evaporating, Condensing float64 // K, dew
	Suction, High           float64 // Pa absolute
	Cooling, Power          float64 // W; the compressor's power
	Discharge               float64 // K
	Flow                    float64 // kg/s
	Superheat, Subcooling   float64 // K
	Sensible                float64 // share of cooling
	SuctionRho              float64 // kg/m3 at the compressor
	Outside                 string  // why the compressor is outside its range there, "" if not
}

// Balance is a compressor with the coils that stay.
type Balance struct {
	Over    []At // rising outdoor temperature
	Design  At
	UShare  float64 // standard doubt of the capacity there, as a share of it
	ByMap   bool    // from a map of ten coefficients; else from one rating point
	Guessed bool    // that point is not stated, and the usual one taken
	Air     float64 // share of the old high stage's air that goes with it
	Bore    float64 // fixed bore for it over the old one, as diameters; 0 for a valve
	Charge  float64 // kg in the model, over that of the old unit: which way it goes
	Valve   float64 // share of the flow that the old valve was chosen for, at Design
	OldHigh At
	OldLow  At
	OldHot  At // old high stage on the hottest day

	Apart float64 // share by which its map and its rated capacity differ

	asked int // weather that Over was asked for
}

// Shares of doubt: of a map's flow, of a scaled usual compressor's, and of the coils'
// conductances; a capacity stated at another usual point than the one taken is off by an
// eighth and more. Judgement; 5 % for a map is what such data are often said to hold
// (from memory).
const (
	uMap, uPoint, uGuess, uCoil = 0.03, 0.06, 0.12, 0.12
)

// outdoors is the weather asked at, °F, beside design and hottest day.
var outdoors = []float64{65, 75, 85, 95, 105, 115}

// NewBalance puts c on the coils of u.
func NewBalance(u Unit, c Candidate) (*Balance, error) {
	if err := u.check(); err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	old, err := u.machine()
	if err != nil {
		return nil, err
	}
	b := &Balance{Air: 1}
	if b.OldHigh, _, err = u.solve(old, u.design(), nil); err != nil {
		return nil, fmt.Errorf("match: old high stage: %w", err)
	}
	if b.OldHot, err = u.still(old, u.hottest()); err != nil {
		return nil, fmt.Errorf("match: old high stage on the hottest day: %w", err)
	}
	if b.OldLow, _, err = u.solve(u.lowStage(old), u.design(), nil); err != nil {
		return nil, fmt.Errorf("match: old low stage: %w", err)
	}
	m := *old
	if b.ByMap, err = c.fit(u, &m); err != nil {
		return nil, err
	}
	b.Apart = c.apart(u)
	b.Guessed = !b.ByMap && c.Rating == Rating{}
	if err := b.run(u, c, old, &m); err != nil {
		return nil, err
	}
	return b, b.doubt(u, &m)
}

// lowStage is the old unit at its low stage.
func (u Unit) lowStage(old *cycle.Machine) *cycle.Machine {
	low := *old
	low.Flow, low.Draw = u.low()/u.High, u.low()/u.High*0.97
	low.Evap.Air *= 0.75 // a two-stage unit's fan goes down with it; from memory
	return &low
}

// outdoors is the weather asked at below the hottest day, K.
func (u Unit) outdoors() (at []float64) {
	for _, f := range outdoors {
		if t := (f + 459.67) / 1.8; t < u.hottest()-1 {
			at = append(at, t)
		}
	}
	return at
}

// fit gives the machine the candidate's compressor.
func (c Candidate) fit(u Unit, m *cycle.Machine) (byMap bool, err error) {
	if c.Map != nil {
		if c.Map.Mass == nil || c.Map.Power == nil {
			return true, fmt.Errorf("match: %s: its map lacks mass flow or power", c.Name)
		}
		m.Comp, m.Flow, m.Draw = c.Map, 1, 1
		return true, nil
	}
	if c.Capacity == 0 || c.Power == 0 {
		return false, fmt.Errorf("match: %s: neither a map nor capacity and power at a rating point", c.Name)
	}
	if eer := c.Capacity / c.Power; eer < 1 || eer > 8 {
		return false, fmt.Errorf("match: %s: %.2f W of cooling for a watt: capacity or power in another unit?", c.Name, eer)
	}
	flow, rated, err := c.atRating(u, m.Comp)
	if err != nil {
		return false, err
	}
	m.Flow, m.Draw = c.Capacity/flow, c.Power/rated
	return false, nil
}

// atRating is the capacity and the power of a map at the candidate's rating point, W.
func (c Candidate) atRating(u Unit, of *compressor.Map) (capacity, power float64, err error) {
	r := c.rating()
	if !(r.Condensing > r.Evaporating+5) || !(r.Superheat > 0 && r.Superheat < 40) || !(r.Subcooling >= 0 && r.Subcooling < 30) {
		return 0, 0, fmt.Errorf("match: %s: rated at %.1f K and %.1f K with %.1f K superheat and %.1f K subcooling", c.Name, r.Evaporating, r.Condensing, r.Superheat, r.Subcooling)
	}
	low, err := u.Fluid.Dew(r.Evaporating)
	if err != nil {
		return 0, 0, err
	}
	gas, err := u.Fluid.TP(r.Evaporating+r.Superheat, low.P)
	if err != nil {
		return 0, 0, err
	}
	high, err := u.Fluid.Dew(r.Condensing)
	if err != nil {
		return 0, 0, err
	}
	bubble, err := u.Fluid.BubbleAtP(high.P)
	if err != nil {
		return 0, 0, err
	}
	liquid, err := u.Fluid.EnthalpyTP(bubble.T-math.Max(r.Subcooling, 0.1), high.P)
	if err != nil {
		return 0, 0, err
	}
	// Where it holds is not asked here: of the usual compressor it says nothing, and of
	// the candidate's own map the point is one that its data name.
	own := *of
	own.Envelope = compressor.Rectangle(200, 400, 200, 400)
	e, err := own.Rate(u.Fluid, low.P, r.Evaporating+r.Superheat, high.P)
	if err != nil {
		return 0, 0, fmt.Errorf("match: %s: %w", c.Name, err)
	}
	return e.Mass * (gas.H - liquid), e.Power, nil
}

// apart is by how much a map and the capacity stated beside it differ, as a share; 0
// where one of them is not there.
func (c Candidate) apart(u Unit) float64 {
	if c.Map == nil || c.Map.Mass == nil || c.Map.Power == nil || c.Capacity == 0 {
		return 0
	}
	q, _, err := c.atRating(u, c.Map)
	if err != nil {
		return 0
	}
	return math.Abs(q/c.Capacity - 1)
}

// run solves over the weather, with the air that goes with the capacity.
func (b *Balance) run(u Unit, c Candidate, old, m *cycle.Machine) error {
	first, _, err := u.solve(m, u.design(), nil)
	if err != nil {
		return fmt.Errorf("match: %s with these coils: %w", c.Name, err)
	}
	b.Air = math.Min(1, first.Cooling/b.OldHigh.Cooling)
	m.Evap.Air = old.Evap.Air * b.Air
	oldCharge := old.Charge
	var near *cycle.State
	if b.Design, near, err = u.solve(m, u.design(), nil); err != nil {
		return fmt.Errorf("match: %s with these coils: %w", c.Name, err)
	}
	b.Charge = near.Charge / oldCharge
	m.Charge = near.Charge
	b.Valve = b.Design.Flow / b.OldHigh.Flow
	if u.Fixed {
		// An orifice passes in proportion to its area and the root of the pressure before it.
		b.Bore = math.Sqrt(b.Valve * math.Sqrt((b.OldHigh.High-b.OldHigh.Suction)/(b.Design.High-b.Design.Suction)))
		m.Valve.Area *= b.Bore * b.Bore
		if b.Design, near, err = u.solve(m, u.design(), near); err != nil {
			return fmt.Errorf("match: %s with these coils: %w", c.Name, err)
		}
	}
	at := u.outdoors()
	b.asked = len(at) + 1
	for _, t := range append(at, u.hottest()) {
		w, err := u.weather(t)
		if err != nil {
			return err
		}
		s, err := m.Solve(w, near) // the charge stays what it is
		if err != nil {
			continue // said by Judge: the model has no state there
		}
		a := u.at(m, t, s, w)
		a.Outside = c.outside(a)
		b.Over = append(b.Over, a)
	}
	b.Design.Outside = c.outside(b.Design)
	return nil
}

// still is the machine in another weather with the charge that it was given on the
// design day.
func (u Unit) still(m *cycle.Machine, outdoor float64) (At, error) {
	_, near, err := u.solve(m, u.design(), nil)
	if err != nil {
		return At{}, err
	}
	k := *m
	k.Charge = near.Charge
	w, err := u.weather(outdoor)
	if err != nil {
		return At{}, err
	}
	s, err := k.Solve(w, near)
	if err != nil {
		return At{}, err
	}
	return u.at(&k, outdoor, s, w), nil
}

// solve charges the machine to what is wanted of it in that weather.
func (u Unit) solve(m *cycle.Machine, outdoor float64, near *cycle.State) (At, *cycle.State, error) {
	w, err := u.weather(outdoor)
	if err != nil {
		return At{}, nil, err
	}
	mode, want := cycle.BySubcooling, or(u.Subcooling, 5.5)
	if u.Fixed {
		mode, want = cycle.BySuperheat, or(u.Superheat, 6.7)
	}
	k := *m
	s, err := k.Charged(w, mode, want, near)
	if err != nil {
		return At{}, nil, err
	}
	return u.at(m, outdoor, s, w), &s, nil
}

func (u Unit) at(m *cycle.Machine, outdoor float64, s cycle.State, w cycle.Conditions) At {
	a := At{Outdoor: outdoor, Evaporating: s.Evaporating, Condensing: s.Condensing, Suction: s.SuctionP, High: s.DischargeP, Cooling: s.Cooling, Power: s.Power,
		Discharge: s.DischargeT, Flow: s.MassFlow, Superheat: s.Superheat, Subcooling: s.Subcooling}
	cp := air.State{W: w.W}.Cp()
	a.Sensible = math.Min(1, (m.Evap.Air*cp*(w.Return-s.SupplyT)+m.FanPower)/s.Cooling)
	if g, err := u.Fluid.TP(s.SuctionT, s.SuctionP); err == nil {
		a.SuctionRho = g.Rho
	}
	return a
}

// outside asks the map's envelope, or the ranges stated.
func (c Candidate) outside(a At) string {
	if c.Map != nil && len(c.Map.Envelope) > 2 {
		if err := c.Map.Inside(a.Evaporating, a.Condensing); err != nil {
			return fmt.Sprintf("evaporating %.0f, condensing %.0f °F lie outside what its map was made for", f(a.Evaporating), f(a.Condensing))
		}
		return ""
	}
	for _, r := range []struct {
		what   string
		x      float64
		lo, hi float64
	}{{"evaporating", a.Evaporating, c.EvapLow, c.EvapHigh}, {"condensing", a.Condensing, c.CondLow, c.CondHigh}} {
		if r.lo > 0 && r.x < r.lo || r.hi > 0 && r.x > r.hi {
			return fmt.Sprintf("%s at %.0f °F, its range is %.0f to %.0f °F", r.what, f(r.x), f(r.lo), f(r.hi))
		}
	}
	return ""
}

// ranged tells whether the candidate has a range at all.
func (c Candidate) ranged() bool {
	return c.Map != nil && len(c.Map.Envelope) > 2 || c.CondHigh > 0 && c.EvapHigh > 0
}

func f(k float64) float64 { return k*1.8 - 459.67 }

// doubt moves the compressor's flow and each coil by its doubt.
func (b *Balance) doubt(u Unit, m *cycle.Machine) error {
	uFlow := uPoint
	switch {
	case b.ByMap:
		uFlow = uMap
	case b.Guessed:
		uFlow = uGuess
	}
	sum := 0.0
	for _, turn := range []struct {
		by float64
		f  func(k *cycle.Machine, x float64)
	}{
		{uFlow, func(k *cycle.Machine, x float64) { k.Flow = or(k.Flow, 1) * x }},
		{uCoil, func(k *cycle.Machine, x float64) { k.Evap.UA *= x }},
		{uCoil, func(k *cycle.Machine, x float64) { k.Cond.UA *= x }},
	} {
		k := *m
		turn.f(&k, 1-turn.by)
		a, _, err := u.solve(&k, u.design(), nil)
		if err != nil {
			return fmt.Errorf("match: doubt of the balance: %w", err)
		}
		d := a.Cooling/b.Design.Cooling - 1
		sum += d * d
	}
	b.UShare = math.Sqrt(sum)
	return nil
}
