// Package plant is a machine of another kind than package cycle's, so that a ranking
// that leans on cycle's shortcomings is found out. It shares no code with cycle or
// diagnose: both coils are cut into finite volumes along the refrigerant's way,
// the refrigerant splits over two circuits with uneven air, the evaporator has two
// rows in parallel cross flow, the condenser a subcooling pass of its own, heat
// transfer follows quality (condensing: Shah 1979; boiling with dry-out), the void
// fraction is a drift-flux one (Rouhani and Axelsson 1970), the compressor has
// volumetric and isentropic efficiency polynomials and, when its valves leak,
// compresses the leak again, the thermostatic valve opens along a logistic curve,
// the bore's flow goes with inlet pressure and subcooling, foreign gas is an amount
// and not a pressure. The correlations are from memory; their constants are drawn. Tests
// only.
package plant

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"retrostage/thermo/air"
	"retrostage/thermo/compressor"
	"retrostage/thermo/fluid"
)

// Plant is one such machine.
type Plant struct {
	f    *fluid.Fluid
	mRef float64 // kg/s, at which the refrigerant's conductances hold

	swept, ev0, ev1, is0, is1, isR, shell float64 // compressor
	leak                                  float64 // share of the compressed gas that comes back

	evap, cond coil
	subcooler  float64 // share of the condenser's volume and surface

	fixed                     bool
	bore                      float64 // m2
	mid, width, bleed         float64 // logistic opening: K, K, share
	stuck                     float64 // > 0: the opening, whatever the superheat
	bulb                      float64 // K that the bulb reads too warm (loose) or too cold
	liquidR, suctionR, lineUA float64
	lineR                     float64 // Pa s2/kg2, restriction
	liquidV, suctionV         float64 // m3
	accV, accB                float64 // accumulator
	oil                       float64 // kg of refrigerant dissolved per (share of saturation pressure)
	moles                     float64 // of foreign gas
	fan, fanOut               float64 // W
	Charge                    float64 // kg
}

type coil struct {
	ho, hi  float64 // W/K at design air, and at mRef with liquid alone
	exp     float64 // of the air side
	volume  float64
	air     float64 // kg/s now
	rated   float64
	uneven  float64 // the first circuit's air over even, less 1
	blocked float64 // share of the face without air
	drop    float64 // Pa s2/kg2
}

// Weather is the day and the house: K, kg/kg, Pa; Recirculated is by how much warmer
// air enters the condenser.
type Weather struct{ Out, Return, WetBulb, W, P, Recirculated float64 }

// Op is a solved state.
type Op struct {
	SuctionP, DischargeP, LiquidP, SuctionT, DischargeT, LiquidT, ValveT float64 // what gauges and clamps see
	MassFlow, Power, Cooling, Rejected                                   float64
	Supply, CondOut, Charge                                              float64
	Superheat, Subcooling                                                float64 // by those instruments
	AirCooling, AirRejected, LineGain                                    float64
	H1, H2, H3, Ideal                                                    float64 // J/kg: compressor in, out, liquid, out of an ideal one

	cap, coilSH float64
	x           [3]float64
}

// sat is both saturation lines at a pressure.
type sat struct{ p, tb, td, hf, hg, rf, rg float64 }

func (q *Plant) sat(p float64) (sat, error) {
	tb, e1 := q.f.BubbleT(p)
	td, e2 := q.f.DewT(p)
	if e1 != nil || e2 != nil {
		return sat{}, errors.Join(e1, e2)
	}
	b, e1 := q.f.BubbleSat(tb)
	d, e2 := q.f.DewSat(td)
	return sat{p, tb, td, b.H, d.H, b.Rho, d.Rho}, errors.Join(e1, e2)
}

// stream is refrigerant on its way through a coil.
type stream struct {
	h, t, x float64 // x < 0 liquid, > 1 gas
	rho, cp float64 // of a single phase
}

func (q *Plant) stream(s *sat, h, near float64) (stream, error) {
	x := (h - s.hf) / (s.hg - s.hf)
	switch {
	case x <= 0:
		t := s.tb + (h-s.hf)/(1.05*(s.hg-s.hf)/150) // a start
		for range 4 {
			l, err := q.f.BubbleSat(min(t, s.tb))
			if err != nil {
				return stream{}, err
			}
			l2, err := q.f.BubbleSat(min(t, s.tb) - 0.5)
			if err != nil {
				return stream{}, err
			}
			cp := (l.H - l2.H) / 0.5
			t = min(t, s.tb) + (h-l.H)/cp
			if math.Abs(h-l.H) < 1 {
				return stream{h, t, x, l.Rho, cp}, nil
			}
		}
		l, err := q.f.BubbleSat(min(t, s.tb))
		return stream{h, t, x, l.Rho, 1700}, err
	case x >= 1:
		t := near
		if !(t > s.td) {
			t = s.td + (h-s.hg)/1000
		}
		for range 12 {
			g, err := q.f.TPIn(max(t, s.td+0.01), s.p, fluid.Vapour)
			if err != nil {
				return stream{}, err
			}
			t = max(t, s.td+0.01) + (h-g.H)/g.Cp
			if math.Abs(h-g.H) < 2 || t < s.td+0.01 {
				return stream{h, t, x, g.Rho, g.Cp}, nil
			}
		}
		return stream{}, fmt.Errorf("gas at %g Pa, %g J/kg", s.p, h)
	}
	return stream{h: h, t: s.tb + x*(s.td-s.tb), x: x}, nil
}

// void is the drift-flux void fraction.
func void(x, g float64, s *sat) float64 {
	if x <= 0 {
		return 0
	}
	if x >= 1 {
		return 1
	}
	const sigma = 0.006 // N/m
	a := (1+0.12*(1-x))*(x/s.rg+(1-x)/s.rf) + 1.18*(1-x)*math.Pow(9.81*sigma*(s.rf-s.rg), 0.25)/(g*math.Sqrt(s.rf))
	return x / s.rg / a
}

// inside is the refrigerant's conductance over that of liquid alone.
func inside(x float64, condensing bool, pr float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x >= 1:
		return 0.55
	case condensing:
		return max(0.55, math.Pow(1-x, 0.8)+3.8*math.Pow(x, 0.76)*math.Pow(1-x, 0.04)/math.Pow(pr, 0.38))
	}
	wet := 2.0 + 4*math.Pow(x, 0.7)
	if x > 0.85 {
		return wet + (0.55-wet)*(x-0.85)/0.15
	}
	return wet
}

// element is one finite volume.
type element struct {
	ho, hi, volume, air float64
	flow                float64 // of refrigerant
}

// dryStep exchanges heat with air at ta; it returns the heat taken up by the
// refrigerant.
func dryStep(e *element, s stream, f, cpa, ta float64) float64 {
	if e.air <= 0 || e.ho <= 0 {
		return 0
	}
	ua := 1 / (1/e.ho + 1/(e.hi*f))
	ca := e.air * cpa
	eff := ca * (1 - math.Exp(-ua/ca))
	if s.cp > 0 && (s.x <= 0 || s.x >= 1) {
		cr := e.flow * s.cp
		return cr * (1 - math.Exp(-eff/cr)) * (ta - s.t)
	}
	return eff * (ta - s.t)
}

// condenser marches h in at pressure p; the refrigerant's enthalpy at the end, the
// mass held and the heat given to air come back.
func (q *Plant) condenser(s *sat, hIn, tIn, m float64, w *Weather) (hOut, mass, heat float64, err error) {
	c := &q.cond
	pc := 4.9e6
	pr := s.p / pc
	ta := w.Out + w.Recirculated
	cpa := air.State{W: 0.01}.Cp()
	g := 200 * m / q.mRef
	scaleI := math.Pow(m/q.mRef, 0.8)
	if q.moles > 0 { // a blanket of foreign gas
		scaleI *= 1 / (1 + 3*q.gasP(s)/s.p)
	}
	scaleO := math.Pow(c.air/c.rated, c.exp)
	pass := func(n int, part, flow, airShare float64, h, near float64) (float64, error) {
		// A blocked part of the face still holds refrigerant but has no air.
		open := 1 - c.blocked
		e := element{ho: c.ho * scaleO * part * open / float64(n), hi: c.hi * scaleI * part * open / float64(n), volume: c.volume * part / float64(n), flow: flow,
			air: c.air * part * airShare / float64(n)}
		for range n {
			st, err := q.stream(s, h, near)
			if err != nil {
				return 0, err
			}
			if st.x >= 1 {
				near = st.t
			}
			d := dryStep(&e, st, inside(st.x, true, pr), cpa, ta)
			next := h + d/flow
			// A volume in which the phase changes is done in two steps.
			for _, edge := range []float64{s.hg, s.hf} {
				if h > edge && next < edge && d < 0 {
					a := (h - edge) * flow / -d
					h2 := edge - 1
					st2, err := q.stream(s, h2, 0)
					if err != nil {
						return 0, err
					}
					d = -(h-edge)*flow + (1-a)*dryStep(&e, st2, inside(st2.x, true, pr), cpa, ta)
					next = h + d/flow
					break
				}
			}
			heat -= d
			x := ((h+next)/2 - s.hf) / (s.hg - s.hf)
			rho := st.rho
			if x > 0 && x < 1 {
				v := void(x, g, s)
				rho = v*s.rg + (1-v)*s.rf
			} else if st.x > 0 && st.x < 1 {
				rho = s.rf
				if x >= 1 {
					rho = s.rg
				}
			}
			mass += e.volume * rho
			h = next
		}
		return h, nil
	}
	main := 1 - q.subcooler
	h1, err := pass(9, main/2, m/2, 1+c.uneven, hIn, tIn)
	if err != nil {
		return 0, 0, 0, err
	}
	h2, err := pass(9, main/2, m/2, 1-c.uneven, hIn, tIn)
	if err != nil {
		return 0, 0, 0, err
	}
	hOut, err = pass(5, q.subcooler, m, 1, (h1+h2)/2, 0)
	return hOut, mass, heat, err
}

// evaporator marches from hIn; air of the second row has passed the first.
func (q *Plant) evaporator(s *sat, hIn, m float64, w *Weather) (hOut, mass, heat, supply float64, err error) {
	c := &q.evap
	const rows, n = 2, 5
	scaleI := math.Pow(m/q.mRef, 0.8)
	scaleO := math.Pow(c.air/c.rated, c.exp)
	g := 200 * m / q.mRef
	in := air.State{T: w.Return, P: w.P, W: w.W}
	for circuit := range 2 {
		share := (1 + c.uneven*float64(1-2*circuit)) / 2
		e := element{ho: c.ho * scaleO / (2 * rows * n), hi: c.hi * scaleI / (2 * rows * n), volume: c.volume / (2 * rows * n), air: c.air * share / n, flow: m / 2}
		var row [n]air.State
		for i := range row {
			row[i] = in
		}
		h, near := hIn, 0.0
		for r := range rows {
			for i := range n {
				k := i
				if r == 1 {
					k = n - 1 - i
				}
				a := row[k]
				st, err := q.stream(s, h, near)
				if err != nil {
					return 0, 0, 0, 0, err
				}
				if st.x >= 1 {
					near = st.t
				}
				f := inside(st.x, false, 0)
				d, leave, err := e.cool(st, f, a)
				if err != nil {
					return 0, 0, 0, 0, err
				}
				next := h + d/e.flow
				if h < s.hg && next > s.hg { // dries out on the way
					b := (s.hg - h) * e.flow / d
					st2, err := q.stream(s, s.hg+1, 0)
					if err != nil {
						return 0, 0, 0, 0, err
					}
					d2, leave2, err := e.cool(st2, inside(1, false, 0), a)
					if err != nil {
						return 0, 0, 0, 0, err
					}
					d = b*d + (1-b)*d2
					leave.T, leave.W = b*leave.T+(1-b)*leave2.T, b*leave.W+(1-b)*leave2.W
					next = h + d/e.flow
				}
				row[k] = leave
				heat += d
				x := ((h+next)/2 - s.hf) / (s.hg - s.hf)
				rho := st.rho
				if x > 0 && x < 1 {
					v := void(x, g, s)
					rho = v*s.rg + (1-v)*s.rf
				} else if rho == 0 {
					rho = s.rg
				}
				mass += e.volume * rho
				h = next
			}
		}
		hOut += h / 2
		for i := range row {
			supply += row[i].T * share / n
		}
	}
	return hOut, mass, heat, supply, nil
}

// cool is a finite volume of the evaporator, wet where its wall is below the
// air's dew point.
func (e *element) cool(s stream, f float64, a air.State) (heat float64, leave air.State, err error) {
	ca := e.air * a.Cp()
	hi := e.hi * f
	k := ca * (1 - math.Exp(-e.ho/ca)) // to the wall, per K of entering air over wall
	wall := (k*a.T + hi*s.t) / (k + hi)
	if s.x >= 1 || s.x <= 0 { // the wall of a single phase follows its warming
		d := dryStep(e, s, f, a.Cp(), a.T)
		leave = a
		leave.T -= d / ca
		return d, leave, nil
	}
	dryHeat := k * (a.T - wall)
	leave = a
	leave.T -= dryHeat / ca
	sw, err := air.FromRH(wall, 1, a.P)
	if err != nil {
		return 0, a, err
	}
	if sw.W >= a.W || s.t > a.T {
		return dryHeat, leave, nil
	}
	// Wet: k/cp (h - hs(wall)) = hi (wall - t), by Newton steps.
	h := a.H()
	miss := func(t float64) (float64, air.State, error) {
		sw, err := air.FromRH(t, 1, a.P)
		return k/a.Cp()*(h-sw.H()) - hi*(t-s.t), sw, err
	}
	for range 4 {
		m0, _, err := miss(wall)
		if err != nil {
			return 0, a, err
		}
		m1, _, err := miss(wall + 0.05)
		if err != nil {
			return 0, a, err
		}
		wall -= m0 * 0.05 / (m1 - m0)
		wall = min(max(wall, s.t-1), a.T)
	}
	_, sw, err = miss(wall)
	if err != nil {
		return 0, a, err
	}
	c := k / ca // contact
	leave.T, leave.W = a.T-c*(a.T-wall), a.W-c*max(0, a.W-sw.W)
	return hi * (wall - s.t), leave, nil
}

// gasP is the partial pressure of foreign gas, trapped in the condenser.
func (q *Plant) gasP(s *sat) float64 { return q.moles * 8.314 * s.tb / (0.75 * q.cond.volume) }

// Mode is what closes the system.
type Mode int

const (
	ByCharge Mode = iota
	BySubcooling
	BySuperheat
	bySize // superheat and subcooling both wanted: the bore follows
)

// evaluate gives the residuals at x: ln of evaporating and condensing pressure and
// the enthalpy at the compressor over 1e5.
func (q *Plant) evaluate(w *Weather, md Mode, want, want2 float64, x [3]float64) (o Op, r [3]float64, err error) {
	o.x = x
	pe, pc, h1 := math.Exp(x[0]), math.Exp(x[1]), x[2]*1e5
	e, err := q.sat(pe)
	if err != nil {
		return o, r, err
	}
	c, err := q.sat(pc)
	if err != nil {
		return o, r, err
	}
	pd := pc
	if q.moles > 0 {
		pd += q.gasP(&c)
	}
	// Compressor; the drop of the suction line from the flow at coil pressure.
	ps := pe - q.suctionR*q.mRef*q.mRef*(e.rg/q.refRho())*(e.rg/q.refRho())
	s1, err := q.f.PH(ps, h1)
	if err != nil {
		return o, r, err
	}
	ratio := pd / ps
	gross := q.swept * s1.Rho * max(0.1, q.ev0-q.ev1*(ratio-1))
	ideal, err := q.f.PS(pd, s1.S)
	if err != nil {
		return o, r, err
	}
	l := math.Log(ratio / q.isR)
	eta := q.is0 * (1 - q.is1*l*l)
	o.Power = gross * (ideal.H - h1) / eta
	m := gross * (1 - q.leak)
	h2 := h1 + o.Power*(1-q.shell)/m
	s2, err := q.f.PH(pd, h2)
	if err != nil {
		return o, r, err
	}
	h3, massC, heat, err := q.condenser(&c, h2, s2.T, m, w)
	if err != nil {
		return o, r, err
	}
	pl := pd - q.cond.drop*m*m
	lq, err := q.sat(pl - (pd - pc))
	if err != nil {
		return o, r, err
	}
	liquid, err := q.stream(&lq, h3, 0)
	if err != nil {
		return o, r, err
	}
	rhoL := liquid.rho
	if liquid.x > 0 {
		rhoL = 1 / (liquid.x/lq.rg + (1-liquid.x)/lq.rf)
	}
	// Metering device.
	pin := pl - (q.liquidR+q.lineR)*m*m
	var valve stream
	var vs sat
	passes := 1e-6
	if pin > pe*1.02 {
		if vs, err = q.sat(pin); err != nil {
			return o, r, err
		}
		if valve, err = q.stream(&vs, h3, 0); err != nil {
			return o, r, err
		}
		passes = q.passes(&vs, valve, pe)
	} else {
		valve = liquid
	}
	h5, massE, heatE, supply, err := q.evaporator(&e, h3, m, w)
	if err != nil {
		return o, r, err
	}
	out, err := q.stream(&e, h5, 0)
	if err != nil {
		return o, r, err
	}
	sh := out.t - e.td
	if out.x < 1 {
		sh = -60 * (1 - out.x)
	}
	o.coilSH = sh
	if !q.fixed {
		passes *= q.open(sh)
	}
	o.LineGain = q.lineUA * (w.Out - out.t)
	acc := 0.0
	if q.accV > 0 {
		acc = q.accV * s1.Rho
		if s1.Phase == fluid.TwoPhase {
			z := 1 - math.Exp(-(1-s1.Q)/q.accB)
			acc = q.accV * (z*e.rf + (1-z)*e.rg)
		}
	}
	sump, err := q.f.BubbleP(min((s1.T+s2.T)/2, c.tb+15))
	if err != nil {
		return o, r, err
	}
	o.Charge = massC + massE + q.liquidV*rhoL + q.suctionV*s1.Rho + acc + q.oil*ps/sump
	o.SuctionP, o.DischargeP, o.LiquidP, o.SuctionT, o.DischargeT, o.LiquidT, o.ValveT = ps, pd, pl, s1.T, s2.T, liquid.t, valve.t
	o.H1, o.H2, o.H3, o.Ideal = h1, h2, h3, ideal.H
	o.MassFlow, o.Cooling, o.Rejected, o.AirRejected, o.AirCooling = m, m*(h5-h3), m*(h2-h3), heat, heatE
	dew, err := q.f.DewT(ps)
	if err != nil {
		return o, r, err
	}
	bub, err := q.f.BubbleT(pl)
	if err != nil {
		return o, r, err
	}
	o.Superheat, o.Subcooling = s1.T-dew, bub-liquid.t
	cpa := air.State{W: w.W}.Cp()
	o.Supply = supply + q.fan/(q.evap.air*cpa)
	o.CondOut = w.Out + w.Recirculated + (heat+q.fanOut)/(q.cond.air*air.State{W: 0.01}.Cp())
	r[0] = m/passes - 1
	r[1] = (h5 + o.LineGain/m - h1) / 1e5
	switch md {
	case ByCharge:
		r[2] = o.Charge/want - 1
	case BySubcooling:
		r[2] = (o.Subcooling - want) / 30
	case BySuperheat:
		r[2] = (o.Superheat - want) / 30
	case bySize:
		r[0], r[2] = (o.Superheat-want)/30, (o.Subcooling-want2)/30
		o.cap = m / passes
	}
	for _, v := range r {
		if math.IsNaN(v) {
			return o, r, errors.New("not a number")
		}
	}
	return o, r, nil
}

func (q *Plant) refRho() float64 {
	s, err := q.f.DewSat(280)
	if err != nil {
		return 30
	}
	return s.Rho
}

// open is the thermostatic valve's opening.
func (q *Plant) open(sh float64) float64 {
	if q.stuck > 0 {
		return q.stuck
	}
	return q.bleed + (1-q.bleed)/(1+math.Exp(-(sh+q.bulb-q.mid)/q.width))
}

// passes is the metering device's flow, a thermostatic valve's fully open.
func (q *Plant) passes(s *sat, in stream, pe float64) float64 {
	rho := in.rho
	if in.x > 0 {
		rho = 1 / (math.Pow(in.x, 0.9)/s.rg + (1-in.x)/s.rf)
	}
	if !q.fixed {
		return q.bore * math.Sqrt(2*rho*(s.p-pe))
	}
	sub := 0.0
	if in.x <= 0 {
		sub = s.tb - in.t
	}
	return q.bore * math.Sqrt(2*rho*s.p) * (0.5 + 0.5*(1-math.Exp(-sub/9))) * (1 - 0.1*pe/s.p)
}

// Solve is Newton's method with a line search, from several starts.
func (q *Plant) Solve(w *Weather, md Mode, want, want2 float64, near *Op) (Op, error) {
	var starts [][3]float64
	if near != nil {
		starts = append(starts, near.x)
	}
	for k := range 4 {
		te, tc := w.WetBulb-11-4*float64(k&1), w.Out+12-4*float64(k>>1)
		pe, e1 := q.f.DewP(te)
		pc, e2 := q.f.DewP(tc)
		if errors.Join(e1, e2) != nil {
			continue
		}
		g, err := q.f.TP(te+[]float64{7, 14, 3, 20}[k], pe)
		if err != nil {
			continue
		}
		starts = append(starts, [3]float64{math.Log(pe), math.Log(pc), g.H / 1e5})
	}
	var last error
	for _, x := range starts {
		o, err := q.newton(w, md, want, want2, x)
		if err == nil {
			return o, nil
		}
		last = err
	}
	return Op{}, fmt.Errorf("plant: no steady state: %w", last)
}

func size(r [3]float64) float64 { return math.Sqrt(r[0]*r[0] + r[1]*r[1] + r[2]*r[2]) }

func (q *Plant) newton(w *Weather, md Mode, want, want2 float64, x [3]float64) (Op, error) {
	step := [3]float64{1e-4, 1e-4, 1e-3}
	limit := [3]float64{0.15, 0.08, 0.1}
	o, r, err := q.evaluate(w, md, want, want2, x)
	if err != nil {
		return o, err
	}
	for range 40 {
		if size(r) < 3e-6 {
			return o, nil
		}
		var j [3][4]float64
		for k := range 3 {
			y := x
			y[k] += step[k]
			_, ry, err := q.evaluate(w, md, want, want2, y)
			if err != nil {
				return o, err
			}
			for i := range 3 {
				j[i][k] = (ry[i] - r[i]) / step[k]
			}
		}
		for i := range 3 {
			j[i][3] = -r[i]
		}
		d, ok := solve3(&j)
		if !ok {
			return o, errors.New("singular")
		}
		t := 1.0
		for k := range d {
			t = min(t, limit[k]/max(1e-12, math.Abs(d[k])))
		}
		better := false
		for range 7 {
			y := x
			for k := range y {
				y[k] += t * d[k]
			}
			o2, r2, err := q.evaluate(w, md, want, want2, y)
			if err == nil && size(r2) < size(r)*(1-0.05*t) {
				x, o, r, better = y, o2, r2, true
				break
			}
			t *= 0.4
		}
		if !better {
			if size(r) < 2e-4 { // finite volumes make small kinks
				return o, nil
			}
			return o, fmt.Errorf("stuck at %.1e", size(r))
		}
	}
	return o, errors.New("slow")
}

func solve3(a *[3][4]float64) (x [3]float64, ok bool) {
	for i := range 3 {
		p := i
		for k := i + 1; k < 3; k++ {
			if math.Abs(a[k][i]) > math.Abs(a[p][i]) {
				p = k
			}
		}
		a[i], a[p] = a[p], a[i]
		if !(math.Abs(a[i][i]) > 1e-14) {
			return x, false
		}
		for k := i + 1; k < 3; k++ {
			f := a[k][i] / a[i][i]
			for l := i; l < 4; l++ {
				a[k][l] -= f * a[i][l]
			}
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = a[i][3]
		for k := i + 1; k < 3; k++ {
			x[i] -= a[i][k] * x[k]
		}
		x[i] /= a[i][i]
	}
	return x, true
}

// Draw draws a plant of 5 to 17 kW, its bore sized, uncharged.
func Draw(f *fluid.Fluid, fixed bool, rng *rand.Rand) (*Plant, error) {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	kw := between(0.5, 1.7) // of 10 kW
	te, tc := between(278.5, 282.5), between(316.5, 322)
	pe, e1 := f.DewP(te)
	pc, e2 := f.DewP(tc)
	if err := errors.Join(e1, e2); err != nil {
		return nil, err
	}
	g, e1 := f.TP(te+8, pe)
	l, e2 := f.BubbleSat(tc - 6)
	if err := errors.Join(e1, e2); err != nil {
		return nil, err
	}
	m := kw * 1e4 / (g.H - l.H)
	q := &Plant{f: f, mRef: m, fixed: fixed,
		ev0: between(0.94, 0.985), ev1: between(0.015, 0.05), is0: between(0.62, 0.74), is1: between(0.08, 0.3), isR: between(2.4, 3.2), shell: between(0.02, 0.1),
		evap: coil{ho: between(1150, 1700) * kw, hi: between(700, 1100) * kw, exp: between(0.45, 0.65), volume: between(2, 3.6) * 1e-3 * kw, rated: between(0.54, 0.68) * kw,
			uneven: between(-0.2, 0.2)},
		cond: coil{ho: between(2300, 3600) * kw, hi: between(1500, 2600) * kw, exp: between(0.4, 0.6), volume: between(2.8, 5) * 1e-3 * kw, rated: between(1.2, 1.9) * kw,
			uneven: between(-0.2, 0.2), drop: between(1e4, 8e4) / m / m},
		subcooler: between(0.08, 0.18), mid: between(5, 8), width: between(1.2, 2.4), bleed: between(0.03, 0.15),
		liquidR: between(1e4, 8e4) / m / m, suctionR: between(5e3, 3e4) / m / m, lineUA: between(0.5, 7) * kw,
		liquidV: between(0.3, 1.2) * 1e-3, suctionV: between(2, 6) * 1e-3, oil: between(0.1, 0.4) * kw, fan: between(300, 600) * kw, fanOut: between(130, 280) * kw}
	q.evap.air, q.cond.air = q.evap.rated, q.cond.rated
	if rng.IntN(2) == 0 {
		q.accV, q.accB = between(1, 3)*1e-3, between(0.05, 0.2)
	}
	q.swept = m / g.Rho / (q.ev0 - q.ev1*(pc/pe-1))
	// The maker sizes the metering device for the rating.
	q.bore = 1
	wr := Rated()
	sh, sc := between(5, 8), between(4.5, 8)
	o, err := q.Solve(&wr, bySize, sh, sc, nil)
	if err != nil {
		return nil, fmt.Errorf("sizing: %w", err)
	}
	q.bore = o.cap
	if !fixed {
		// At the rating the valve stands at its middle or somewhat above: full bore is more.
		q.bore *= between(0.95, 1.2)
	}
	return q, nil
}

// Rated is the condition that a plant is sized for.
func Rated() Weather {
	s, err := air.FromWetBulb(299.817, 292.594, 101325)
	if err != nil {
		panic(err)
	}
	return Weather{Out: 308.15, Return: s.T, WetBulb: 292.594, W: s.W, P: s.P}
}

// Fault is one thing wrong with a plant.
type Fault int

// The faults; a severity is a share, of what it says at each in Apply.
const (
	Healthy Fault = iota
	Undercharge
	Overcharge
	Restriction
	LowIndoorAir
	LowOutdoorAir
	NonCondensable
	LeakingValves
	ValveOverfeeds
	ValveUnderfeeds
	Faults int = iota
)

// Apply puts a fault into the plant; o is its healthy state on the day.
func (q *Plant) Apply(fault Fault, s float64, o *Op, rng *rand.Rand) {
	switch fault {
	case Undercharge:
		q.Charge *= 1 - s
	case Overcharge:
		q.Charge *= 1 + s
	case Restriction:
		covered := 0.0
		if p, err := q.f.BubbleP(o.LiquidT); err == nil {
			covered = max(0, o.LiquidP-p)
		}
		q.lineR += (covered + s*(o.LiquidP-o.SuctionP)) / (o.MassFlow * o.MassFlow)
	case LowIndoorAir:
		q.evap.air *= 1 - s
	case LowOutdoorAir:
		if rng.IntN(2) == 0 {
			q.cond.air *= 1 - s
		} else { // leaves on part of the face
			q.cond.blocked = 0.7 * s
			q.cond.air *= 1 - 0.7*s
		}
	case NonCondensable:
		c, err := q.sat(o.DischargeP)
		if err == nil {
			q.moles = 1
			q.moles = s * o.DischargeP / q.gasP(&c)
		}
	case LeakingValves:
		q.leak = s
	case ValveOverfeeds:
		switch {
		case q.fixed:
			q.bore *= 1 + s
		case rng.IntN(2) == 0:
			q.bulb = 25 * s // hangs loose
		default:
			q.stuck = q.open(o.coilSH) * (1 + s)
		}
	case ValveUnderfeeds:
		if q.fixed {
			q.bore *= 1 - s
		} else {
			q.stuck = q.open(o.coilSH) * (1 - s)
		}
	}
}

// Rating of the compressor as its maker would publish it, each curve a few percent off.
func (q *Plant) Rating(rng *rand.Rand) (*compressor.Map, error) {
	var at []compressor.Point
	var mass, power []float64
	top := 338.0
	if tc, _, _ := q.f.Critical(); tc-8 < top {
		top = tc - 8
	}
	for s := 262.0; s <= 295; s += 5.5 {
		for k := range 6 {
			d := 296 + (top-296)*float64(k)/5
			ps, e1 := q.f.DewP(s)
			pd, e2 := q.f.DewP(d)
			if e1 != nil || e2 != nil || pd < 1.2*ps {
				continue
			}
			g, err := q.f.TP(s+11.1, ps)
			if err != nil {
				return nil, err
			}
			ideal, err := q.f.PS(pd, g.S)
			if err != nil {
				return nil, err
			}
			m := q.swept * g.Rho * (q.ev0 - q.ev1*(pd/ps-1))
			l := math.Log(pd / ps / q.isR)
			at, mass, power = append(at, compressor.Point{S: s, D: d}), append(mass, m), append(power, m*(ideal.H-g.H)/(q.is0*(1-q.is1*l*l)))
		}
	}
	m := &compressor.Map{Temp: compressor.Celsius, Basis: compressor.Basis{Superheat: 11.1}, Envelope: compressor.Rectangle(262, 295, 296, top), Source: "drawn"}
	var err error
	if m.Mass, _, err = compressor.Fit(at, mass, 3); err != nil {
		return nil, err
	}
	if m.Power, _, err = compressor.Fit(at, power, 3); err != nil {
		return nil, err
	}
	m.Mass.Unit = compressor.Scale(1 + 0.03*rng.NormFloat64())
	m.Power.Unit = compressor.Scale(1 + 0.03*rng.NormFloat64())
	return m, nil
}

// Rest is the pressure, Pa, that a unit at rest shows with its refrigerant a mixture of
// both phases at the outdoor temperature, foreign gas spread.
func (q *Plant) Rest(w *Weather) (float64, error) {
	rest, err := q.f.TQ(w.Out, 0.3)
	room := 0.8 * (q.cond.volume + q.evap.volume + q.suctionV + q.accV)
	return rest.P + q.moles*8.314*w.Out/room, err
}

// IndoorAir is the air flow now, DesignAir that of the design, kg/s of dry air.
func (q *Plant) IndoorAir() float64 { return q.evap.air }

// DesignAir: see IndoorAir.
func (q *Plant) DesignAir() float64 { return q.evap.rated }

// Blow changes the indoor air flow by a factor.
func (q *Plant) Blow(factor float64) { q.evap.air *= factor }

// Shell is the share of its power that the compressor's shell gives to the air.
func (q *Plant) Shell() float64 { return q.shell }
