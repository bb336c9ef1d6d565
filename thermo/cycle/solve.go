package cycle

import (
	"fmt"
	"math"

	"retrostage/thermo/compressor"
)

// Mode is what closes the system of balances.
type Mode int

// The modes: the charge is known, or it is found for a wanted subcooling at the
// condenser, or for a wanted superheat at the compressor.
const (
	ByCharge Mode = iota
	BySubcooling
	BySuperheat
)

// wet is the number of kelvins by which one unit of quality counts in the
// unknowns, so that they run smoothly from superheat into wetness.
const wet = 80.0

// Solve finds the steady state. near, if not nil, is a state to start from.
func (m *Machine) Solve(c Conditions, near *State) (State, error) {
	return m.solve(c, ByCharge, m.Charge, near)
}

// Charged sets the charge so that the machine shows a wanted subcooling or
// superheat, K, in the given conditions, and returns the state.
func (m *Machine) Charged(c Conditions, mode Mode, want float64, near *State) (State, error) {
	s, err := m.solve(c, mode, want, near)
	if err == nil {
		m.Charge = s.Charge
	}
	return s, err
}

func (m *Machine) solve(c Conditions, mode Mode, want float64, near *State) (State, error) {
	var s State
	starts := [][4]float64{m.guess(c, 0), m.guess(c, 1), m.guess(c, 2), m.guess(c, 3)}
	if near != nil {
		starts = append([][4]float64{near.x}, starts...)
	}
	for _, x := range starts {
		s = m.newton(c, mode, want, x)
		if s.Residual < 1e-10 {
			s.SupplyT = m.supply(c, &s)
			return s, m.check(s)
		}
	}
	return State{}, fmt.Errorf("cycle: no steady state found at outdoor %.1f K, return %.1f K (balances open by %.1e)", c.Outdoor, c.Return, s.Residual)
}

func (m *Machine) check(s State) error {
	p := m.Props
	lo, hi := p.lp0, p.lp0+p.dlp*(satN-1)
	if lp := math.Log(s.SuctionP); lp < lo {
		return fmt.Errorf("cycle: suction pressure %.0f Pa is below the table's %.0f Pa", s.SuctionP, math.Exp(lo))
	}
	if lp := math.Log(s.DischargeP); lp > hi {
		return fmt.Errorf("cycle: discharge pressure %.0f Pa is above the table's %.0f Pa", s.DischargeP, math.Exp(hi))
	}
	if d := s.DischargeT - s.Condensing; d > gasDT*(gasN-2) {
		return fmt.Errorf("cycle: discharge gas %.0f K above saturation; the table ends at %.0f K", d, gasDT*(gasN-2))
	}
	return nil
}

// guess starts from usual approaches, and for k > 0 from less usual ones.
func (m *Machine) guess(c Conditions, k int) [4]float64 {
	te := c.WetBulb - 12 - 5*float64(k&1)
	tc := c.Outdoor + c.Recirculat + 13 - 4*float64(k>>1)
	p := m.Props
	te, tc = max(te, p.t0+5), min(tc, p.t0+p.dt*float64(len(p.liq)-1)-3)
	return [4]float64{p.liquid(te).lp, p.liquid(tc).lp, []float64{6, 15, -2, 20}[k], []float64{5, 1, 8, -2}[k]}
}

// newton is a damped Newton iteration on the four balances. Its Jacobian is taken
// by differences and then kept up to date by Broyden's rank-one formula for as
// long as steps succeed.
func (m *Machine) newton(c Conditions, mode Mode, want float64, x [4]float64) State {
	lim := [4]float64{0.12, 0.06, 6, 5}
	h := [4]float64{1e-6, 1e-6, 1e-5, 1e-5}
	s, r := m.balance(c, mode, want, x)
	var j [4][4]float64
	fresh := false
	for range 80 {
		if s.Residual < 1e-11 {
			break
		}
		if !fresh {
			for k := range x {
				y := x
				y[k] += h[k]
				_, ry := m.balance(c, mode, want, y)
				for i := range r {
					j[i][k] = (ry[i] - r[i]) / h[k]
				}
			}
		}
		d, ok := gauss(&j, &r)
		if !ok {
			break
		}
		t := 1.0
		for k := range d {
			t = min(t, lim[k]/max(lim[k]*1e-3, math.Abs(d[k])))
		}
		old := norm(r)
		var sb State
		var rb, xb [4]float64
		tries := 8
		if fresh {
			tries = 1 // a kept Jacobian is renewed before a step is cut
		}
		for range tries {
			for k := range x {
				xb[k] = x[k] + t*d[k]
			}
			if sb, rb = m.balance(c, mode, want, xb); norm(rb) < old*(1-1e-4*t) {
				break
			}
			t /= 2
		}
		n := norm(rb)
		if fresh && !(n < 0.5*old) {
			fresh = false
			if !(n < old) {
				continue
			}
		} else {
			// A step that makes matters a little worse may still lead on; one that
			// makes them much worse, or cannot mend what is nearly exact, ends it.
			if !(n < 4*old) || n >= old && old < 1e-9 {
				break
			}
			fresh = n < 0.5*old
		}
		if fresh {
			dd := 0.0
			for k := range x {
				dd += (xb[k] - x[k]) * (xb[k] - x[k])
			}
			for i := range r {
				miss := rb[i] - r[i]
				for k := range x {
					miss -= j[i][k] * (xb[k] - x[k])
				}
				for k := range x {
					j[i][k] += miss * (xb[k] - x[k]) / dd
				}
			}
		}
		x, s, r = xb, sb, rb
	}
	return s
}

func norm(r [4]float64) float64 {
	return math.Sqrt(r[0]*r[0] + r[1]*r[1] + r[2]*r[2] + r[3]*r[3])
}

// gauss solves j x = -r with pivoting.
func gauss(j *[4][4]float64, r *[4]float64) (x [4]float64, ok bool) {
	var a [4][5]float64
	for i := range 4 {
		copy(a[i][:4], j[i][:])
		a[i][4] = -r[i]
	}
	for i := range 4 {
		p := i
		for k := i + 1; k < 4; k++ {
			if math.Abs(a[k][i]) > math.Abs(a[p][i]) {
				p = k
			}
		}
		a[i], a[p] = a[p], a[i]
		if !(math.Abs(a[i][i]) > 1e-300) {
			return x, false
		}
		for k := i + 1; k < 4; k++ {
			f := a[k][i] / a[i][i]
			for l := i; l < 5; l++ {
				a[k][l] -= f * a[i][l]
			}
		}
	}
	for i := 3; i >= 0; i-- {
		x[i] = a[i][4]
		for k := i + 1; k < 4; k++ {
			x[i] -= a[i][k] * x[k]
		}
		x[i] /= a[i][i]
	}
	return x, true
}

// balance evaluates the machine at the unknowns x: ln of evaporating and
// condensing pressure, superheat at the evaporator, subcooling at the condenser.
func (m *Machine) balance(c Conditions, mode Mode, want float64, x [4]float64) (State, [4]float64) {
	p := m.Props
	s := State{x: x, EvapP: math.Exp(x[0]), CondP: math.Exp(x[1]), CoilSuperheat: x[2]}
	e, k := p.at(x[0]), p.at(x[1])

	// Evaporator outlet.
	var h1e, t1e, v1e float64
	if x[2] >= 0 {
		g := p.vapour(x[0], x[2])
		h1e, t1e, v1e = g.h, e.td+x[2], math.Exp(-g.lr)
	} else {
		q := 1 + x[2]/wet
		h1e, t1e, v1e = e.hf+q*(e.hg-e.hf), e.tb+q*(e.td-e.tb), q/e.rg+(1-q)/e.rf
	}
	// Condenser outlet.
	var rho3 float64
	if x[3] >= 0 {
		s.LiquidT = k.tb - x[3]
		l := p.liquid(s.LiquidT)
		s.H3, rho3 = l.h, l.rho
	} else {
		q := -x[3] / wet
		s.LiquidT = k.tb + q*(k.td-k.tb)
		s.H3, rho3 = k.hf+q*(k.hg-k.hf), 1/(q/k.rg+(1-q)/k.rf)
	}
	// Compressor and suction line. The pressure drop uses the flow of the map at
	// coil pressure, which spares an inner iteration; the difference is of second
	// order in a small quantity.
	s.DischargeP = s.CondP + m.Gas
	ld := math.Log(s.DischargeP)
	d := p.at(ld)
	first := m.Comp.Unchecked(e.td, d.td)
	s.SuctionP = s.EvapP - m.SuctionR*first.Mass*first.Mass
	ls := math.Log(s.SuctionP)
	su := p.at(ls)
	s.Evaporating, s.Condensing = su.td, d.td
	rated := m.Comp.Unchecked(su.td, d.td)
	tr, _ := m.Comp.Basis.SuctionT(su.td)
	var low, high isobar
	p.along(ls, &low)
	p.along(ld, &high)
	rise := func(s float64) float64 { return read(&high.h, find(&high.s, s)) } // enthalpy after ideal compression
	superR := tr - su.td
	s.LineGain = m.SuctionUA * (c.Outdoor - t1e)
	s.H1 = h1e + s.LineGain/rated.Mass
	var v1, s1 float64
	if s.H1 >= su.hg {
		sh := find(&low.h, s.H1)
		s.Superheat, s.SuctionT, v1, s1 = sh, su.td+sh, math.Exp(-read(&low.lr, sh)), read(&low.s, sh)
	} else {
		q := max(0, (s.H1-su.hf)/(su.hg-su.hf))
		s.SuctionT, v1 = su.tb+q*(su.td-su.tb), q/su.rg+(1-q)/su.rf
		s1 = low.s[0] - (su.hg-s.H1)/su.td
	}
	factor := 1 + compressor.DensityShare*(math.Exp(-read(&low.lr, superR))/v1-1)
	s.MassFlow = rated.Mass * factor * m.flow()
	dhr := rise(read(&low.s, superR)) - read(&low.h, superR)
	dh := rise(s1) - s.H1
	s.Power = rated.Power * factor * dh / dhr * m.draw()
	s.LineGain = (s.H1 - h1e) * s.MassFlow
	s.ShellLoss = m.ShellLoss * s.Power
	s.H2 = s.H1 + (s.Power-s.ShellLoss)/s.MassFlow
	th2 := find(&high.h, s.H2)
	s.DischargeT = d.td + th2
	rho2 := math.Exp(read(&high.lr, th2))
	mf := s.MassFlow

	// Metering device, after the liquid line.
	// What has flashed in the condenser takes the line's pressure with it: the drop
	// goes with 1/density.
	pin := s.DischargeP - m.LiquidR*mf*mf*max(1, k.rf/rho3)
	passed, tin := m.meter(s.H3, s.LiquidT, rho3, pin, s.EvapP, x[2], mf)
	s.ValveT = tin

	// Evaporator surface.
	ev := &m.Evap
	ua := ev.ua()
	ca := ev.Air * cpa(c.W)
	x4 := (s.H3 - e.hf) / (e.hg - e.hf)
	t4 := e.tb + x4*(e.td-e.tb)
	hTwo, tTwo := e.hg, e.td
	if x[2] < 0 {
		hTwo, tTwo = h1e, t1e
	}
	tm := (t4 + tTwo) / 2
	dry := ca * (1 - math.Exp(-ua/ca)) * (c.Return - tm)
	hin := airH(c.Return, c.W)
	hs := satH(tm, c.Pressure)
	cs := (satH(c.WetBulb, c.Pressure) - hs) / (c.WetBulb - tm)
	uo := ua * (1 + m.CoilInside)
	ntuW := uo / cpa(c.W) / ev.Air / (1 + m.CoilInside*cs/cpa(c.W))
	wetQ := ev.Air * (1 - math.Exp(-ntuW)) * (hin - hs)
	q2 := max(dry, wetQ)
	wTwo := mf * (hTwo - s.H3) / q2
	wSup, qSup := 0.0, 0.0
	if x[2] > 0 {
		qSup = mf * (h1e - e.hg)
		kk := ca * (1 - math.Exp(-ua*ev.Gas/ca))
		wSup = qSup / x[2] / kk * decades(c.Return-e.td, x[2])
	}
	r1 := wTwo + wSup - 1
	s.Cooling = mf * (h1e - s.H3)
	s.AirCooling = q2*(1-wSup) + qSup

	// Condenser surface.
	co := &m.Cond
	uc := co.ua()
	cc := co.Air * cpa(0.010)
	air := c.Outdoor + c.Recirculat
	hGas := s.H2 - k.hg
	wGas, qGas := 0.0, mf*hGas
	if th2c := s.DischargeT - k.td; th2c > 0 {
		kg := cc * (1 - math.Exp(-uc*co.Gas/cc))
		wGas = qGas / th2c / kg * decades2(k.td-air, th2c)
	}
	hOut, tOut := k.hf, k.tb
	if x[3] < 0 {
		hOut, tOut = s.H3, s.LiquidT
	}
	qc := cc * (1 - math.Exp(-uc/cc)) * ((k.td+tOut)/2 - air)
	wCon := mf * (k.hg - hOut) / qc
	wLiq, qLiq := 0.0, 0.0
	if x[3] > 0 {
		qLiq = mf * (k.hf - s.H3)
		kl := cc * (1 - math.Exp(-uc*co.Liquid/cc))
		wLiq = qLiq / x[3] / kl * decades(k.tb-air, x[3])
	}
	r2 := wGas + wCon + wLiq - 1
	s.Rejected = mf * (s.H2 - s.H3)
	s.AirRejected = qGas + qLiq + qc*(1-wGas-wLiq)
	s.CondAirOut = air + (s.AirRejected+m.OutdoorFan)/cc

	// Charge.
	s.Charge = ev.Volume*(wTwo*m.twoPhase(e, x4, min(1, (hTwo-e.hf)/(e.hg-e.hf)))+wSup*(e.rg+1/v1e)/2) +
		co.Volume*(wGas*(rho2+k.rg)/2+wCon*m.twoPhase(k, (hOut-k.hf)/(k.hg-k.hf), 1)+wLiq*(k.rf+rho3)/2) +
		m.LiquidVolume*rho3 + m.SuctionVolume/v1 + m.stood(su, s.H1, v1) + m.dissolved(&s)

	s.Subcooling = d.tb - s.LiquidT
	var r3 float64
	switch mode {
	case ByCharge:
		r3 = s.Charge/want - 1
	case BySubcooling:
		r3 = (s.Subcooling - want) / 50
	case BySuperheat:
		r3 = (s.SuctionT - su.td - want) / 50
	}
	r := [4]float64{mf/passed - 1, r1, r2, r3}
	for i, v := range r {
		if math.IsNaN(v) {
			r[i] = 1e6
		}
		s.Residual = max(s.Residual, math.Abs(r[i]))
	}
	s.dry = dry > wetQ
	return s, r
}

// decades is ln(a/(a-x)), the transfer units that a stream needs to come nearer
// by x to another a away. Close to the pinch it goes on in a
// straight line, so that an iteration may stray there.
func decades(a, x float64) float64 {
	if y := x / a; y < 0.995 && a > 0 {
		return -math.Log1p(-y)
	} else if a > 0 {
		return -math.Log1p(-0.995) + (y-0.995)/0.005
	}
	return 5 + (x-a)/0.1
}

// decades2 is the same for a stream that starts at a+x and ends at a.
func decades2(a, x float64) float64 {
	if a <= 0.05 {
		return math.Log1p(x/0.05) + (0.05-a)*20
	}
	return math.Log1p(x / a)
}

// meter is the flow that the metering device would pass, and the temperature
// before it.
func (m *Machine) meter(h3, t3, rho3, pin, pe, super, mf float64) (flow, tin float64) {
	p := m.Props
	v := &m.Valve
	rho, throat := rho3, 0.0
	tin = t3
	in := p.at(math.Log(max(pin, pe*1.01)))
	if h3 > in.hf { // flashed before the valve
		q := (h3 - in.hf) / (in.hg - in.hf)
		rho = 1 / (q/in.rg + (1-q)/in.rf)
		tin = in.tb + q*(in.td-in.tb)
		throat = v.Choke * pin
	} else {
		throat = v.Choke * math.Exp(p.liquid(t3).lp)
	}
	dp := pin - max(pe, throat)
	flow = v.Area * math.Sqrt(2*rho*max(dp, pe*1e-3))
	if dp < pe*1e-3 {
		flow *= math.Exp(min(0, dp/pe-1e-3))
	}
	if !v.Fixed {
		flow *= max(v.open(super), 1e-4)
	}
	return flow, tin
}

// open is a thermostatic valve's share of full bore at a superheat: linear above
// the bleed, bent smoothly at both ends.
func (v *Valve) open(super float64) float64 {
	if v.Stuck > 0 {
		return v.Stuck
	}
	y := (super - v.Static) / v.Range
	const b = 0.05
	lift := b * (math.Log1p(math.Exp(min(y/b, 500))) - math.Log1p(math.Exp(min((y-1)/b, 500))))
	return v.Bleed + (1-v.Bleed)*lift
}

// stood is the refrigerant in the accumulator where gas of enthalpy h and volume
// v, wet or dry, passes it, kg.
func (m *Machine) stood(r satRow, h, v float64) float64 {
	a := &m.Accumulator
	if a.Volume == 0 {
		return 0
	}
	if h >= r.hg {
		return a.Volume / v
	}
	full := math.Tanh((r.hg - h) / (r.hg - r.hf) / a.Bleed)
	return a.Volume * (full*r.rf + (1-full)*r.rg)
}

// dissolved is the refrigerant in the compressor's oil, kg. The sump is taken
// midway between suction and discharge temperature, and what dissolves goes with
// the share of the saturation pressure there (Raoult's law in its simplest form).
func (m *Machine) dissolved(s *State) float64 {
	if m.Oil == 0 {
		return 0
	}
	p := m.Props
	top := p.t0 + p.dt*float64(len(p.liq)-1)
	share := math.Exp(math.Log(s.SuctionP) - p.liquid(min(max((s.SuctionT+s.DischargeT)/2, p.t0), top)).lp)
	w := min(m.Dissolves*share, 0.6)
	return m.Oil * w / (1 - w)
}

// twoPhase is the mean density between two qualities, heat flux being even.
func (m *Machine) twoPhase(r satRow, from, to float64) float64 {
	slip := math.Pow(r.rf/r.rg, m.Slip)
	sum := 0.0
	for i, g := range [5]float64{0.04691007703, 0.2307653449, 0.5, 0.7692346551, 0.953089922969} {
		x := max(1e-6, from+(to-from)*g)
		void := 1 / (1 + (1-x)/x*r.rg/r.rf*slip)
		sum += [5]float64{0.1184634425, 0.2393143352, 0.2844444444, 0.2393143352, 0.1184634425}[i] * (void*r.rg + (1-void)*r.rf)
	}
	return sum
}

// supply is the air temperature after the coil and fan. A wet coil's leaving air
// lies on the line to an effective surface (Braun, Klein and Mitchell 1989, from
// memory).
func (m *Machine) supply(c Conditions, s *State) float64 {
	ca := m.Evap.Air * cpa(c.W)
	hin, uo := airH(c.Return, c.W), m.Evap.ua()*(1+m.CoilInside)
	fan := m.FanPower / ca
	if s.dry {
		return c.Return - s.AirCooling/ca + fan
	}
	eff := 1 - math.Exp(-uo/ca)
	hs := hin - s.AirCooling/m.Evap.Air/eff
	t := s.Evaporating + 3
	for range 30 {
		f := satH(t, c.Pressure)
		d := (satH(t+0.01, c.Pressure) - f) / 0.01
		step := (hs - f) / d
		t += max(-10, min(step, 10))
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return c.Return - eff*(c.Return-t) + fan
}
