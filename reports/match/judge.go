package match

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/wiring/supply"
)

// Verdict is the answer to one question.
type Verdict string

// The verdicts.
const (
	Fits   Verdict = "fits"
	Misfit Verdict = "does not fit"
	Open   Verdict = "not known"
	Note   Verdict = "note"
)

// Reason is one question answered.
type Reason struct {
	Topic   string
	Verdict Verdict
	Words   string
	Source  string // where the limit comes from
	Next    string // what settles it, or what to do
}

// Judged is a candidate held against the unit.
type Judged struct {
	Candidate Candidate
	Reasons   []Reason
	Balance   *Balance // nil where there is none, and Reasons say why
	Rows      []supply.Row
}

// Misfits and Opens count.
func (j Judged) Misfits() int { return j.count(Misfit) }

// Opens counts questions not answered.
func (j Judged) Opens() int { return j.count(Open) }

func (j Judged) count(v Verdict) (n int) {
	for _, r := range j.Reasons {
		if r.Verdict == v {
			n++
		}
	}
	return n
}

// Limits of practice. Each stands beside its answer.
const (
	practice = "common practice, no source"

	smallest, largest = 0.80, 1.05 // of the old high stage's capacity with these coils
	riserSpeed        = 5.0        // m/s, about 1,000 ft/min
	levelSpeed        = 2.5        // m/s
	fastest           = 20.0       // m/s: noise and loss above it
	hottestGas        = 380.4      // K, 225 °F at the line
	valveLeast        = 0.5        // share of what the valve was chosen for
	startShare        = 0.9        // of rated volts at the start
)

// Judge asks every question of c.
func Judge(u Unit, c Candidate) (Judged, error) {
	if err := u.check(); err != nil {
		return Judged{}, err
	}
	if err := c.check(); err != nil {
		return Judged{}, err
	}
	j := Judged{Candidate: c}
	add := func(rs ...Reason) { j.Reasons = append(j.Reasons, rs...) }
	add(u.refrigerant(c), u.oil(c), c.stages())
	r, err := u.line(c)
	if err != nil {
		return j, err
	}
	add(r)
	if j.Reasons[0].Verdict == Misfit {
		add(Reason{"capacity", Open, "not computed for another refrigerant", "", ""})
	} else if b, err := NewBalance(u, c); err != nil {
		add(Reason{"capacity", Open, strings.TrimPrefix(err.Error(), "match: "), "", "Get its map, or capacity and power at a stated point."})
	} else {
		j.Balance = b
		add(u.capacity(b), u.coil(b), u.metering(b), u.oilReturn(b), c.discharge(b), c.envelope(b))
	}
	add(u.pressures(c, j.Balance)...)
	rs, rows, err := u.circuit(c)
	if err != nil {
		return j, err
	}
	j.Rows = rows
	add(rs...)
	add(u.start(c, rows), u.connections(c), u.space(c))
	if c.Note != "" {
		add(Reason{"notes", Note, c.Note, "its data", ""})
	}
	return j, nil
}

func (u Unit) refrigerant(c Candidate) Reason {
	name := u.Fluid.Name()
	r := Reason{Topic: "refrigerant", Source: "its data and the unit's plate", Next: "Never mix refrigerants, and put no other one into a unit that is not made for it."}
	switch {
	case len(c.Refrigerants) == 0:
		r.Verdict, r.Words, r.Next = Open, "its data do not say for which refrigerant it is made", "Read its plate."
	case slices.ContainsFunc(c.Refrigerants, func(s string) bool { return same(s, name) }):
		r.Verdict, r.Words, r.Next = Fits, "made for "+name, ""
	default:
		r.Verdict, r.Words = Misfit, fmt.Sprintf("made for %s, the unit holds %s", strings.Join(c.Refrigerants, ", "), name)
	}
	return r
}

// same compares names as people write them: R410a, R-410A.
func same(a, b string) bool {
	plain := func(s string) string {
		return strings.ToUpper(strings.NewReplacer("-", "", " ", "", "–", "").Replace(strings.TrimSpace(s)))
	}
	return plain(a) == plain(b)
}

func (u Unit) oil(c Candidate) Reason {
	r := Reason{Topic: "oil", Source: "oil families of the refrigerant's data; " + practice}
	families := u.Fluid.Info().Oils
	base := func(s string) string {
		return strings.TrimSuffix(strings.ToLower(strings.TrimSpace(s)), " or alkylbenzene")
	}
	ok := slices.ContainsFunc(families, func(o string) bool {
		return strings.Contains(base(o), base(c.Oil)) || strings.Contains(base(c.Oil), base(o))
	})
	switch {
	case c.Oil == "":
		r.Verdict, r.Words, r.Next = Open, "the oil that it comes with is not stated", "Read its plate."
	case !ok:
		r.Verdict, r.Words = Misfit, fmt.Sprintf("comes with %s; %s goes with %s", c.Oil, u.Fluid.Name(), strings.Join(families, " or "))
	case u.Oil != "" && base(u.Oil) != base(c.Oil):
		r.Verdict, r.Words, r.Next = Open, fmt.Sprintf("comes with %s, the circuit holds %s", c.Oil, u.Oil), "Ask its maker how much of the other oil may stay; drain what can be drained."
	default:
		r.Verdict, r.Words = Fits, "comes with "+c.Oil+", which goes with "+u.Fluid.Name()
	}
	return r
}

func (c Candidate) stages() Reason {
	switch c.Stages {
	case 0:
		return Reason{"stages", Open, "its data do not say whether it has one stage or two", "", "Read its plate: a second stage needs controls that go."}
	case 1:
		return Reason{"stages", Fits, "one stage", "its data", ""}
	}
	return Reason{"stages", Misfit, fmt.Sprintf("%d stages: the controls that are to go would have to stay", c.Stages), "its data", ""}
}

// line is the supply's nominal voltage, phases and frequency against its plate.
func (u Unit) line(c Candidate) (Reason, error) {
	r := Reason{Topic: "supply", Verdict: Open}
	if u.Volts == 0 || c.Volts == 0 || u.Phases == 0 || c.Phases == 0 || u.Hertz == 0 || c.Hertz == 0 {
		r.Words, r.Next = "voltage, phases or frequency of the supply or of its plate are not known", "Read both plates."
		return r, nil
	}
	t, err := supply.Load()
	if err != nil {
		return r, err
	}
	plate := []float64{c.Volts}
	if c.VoltsLow > 0 && c.VoltsLow != c.Volts {
		plate = append(plate, c.VoltsLow)
	}
	k, err := t.CheckSupplyMatch(u.Volts, u.Phases, u.Hertz, c.Phases, c.Hertz, plate...)
	if err != nil {
		return r, err
	}
	r.Verdict, r.Words, r.Source = Verdict(k.Outcome), k.Why, k.Rule.Cite()
	return r, nil
}

func (u Unit) capacity(b *Balance) Reason {
	share := b.Design.Cooling / b.OldHigh.Cooling
	k := 1.645 * b.UShare
	r := Reason{Topic: "capacity", Source: practice + ": 80 to 105 % of the old high stage with the coils that stay; the machine model of this program"}
	r.Words = fmt.Sprintf("with these coils %.0f Btu/h on the design day, %.0f %% of the old high stage, give or take %.0f %%", b.Design.Cooling/btuh, 100*share, 100*2*b.UShare)
	if u.Load > 0 {
		r.Words += fmt.Sprintf("; the house asks for %.0f Btu/h then", u.Load/btuh)
	}
	least := smallest
	if u.Load > 0 {
		least = u.Load / b.OldHigh.Cooling
	}
	switch {
	case share*(1+k) < least:
		r.Verdict, r.Next = Misfit, "Too small: look for a larger one."
	case share*(1-k) > largest:
		r.Verdict, r.Next = Misfit, "Too large for these coils: it evaporates colder and condenses hotter. Look for a smaller one."
	case share < least || share > largest:
		r.Verdict, r.Next = Open, "Too close to call within its doubt: get its map of ten coefficients."
	case b.Apart > atOdds:
		r.Verdict, r.Next = Open, fmt.Sprintf("Its map and the capacity stated differ by %.0f %%: one of them is of another compressor, unit or rating point.", 100*b.Apart)
	case b.Guessed:
		r.Verdict, r.Next = Open, "At which evaporating and condensing temperature its capacity is stated is not entered; 45 and 130 °F are taken. Ask: at another point the same figure is another compressor."
	case 2*b.UShare > widest:
		r.Verdict, r.Next = Open, "In doubt by more than a seventh: get its map of ten coefficients."
	default:
		r.Verdict = Fits
	}
	return r
}

// atOdds is how far a map and the capacity stated beside it may differ: a choice of
// this program, for superheat and subcooling of the point may be other than taken.
const atOdds = 0.15

// widest is the doubt of the capacity, two standard deviations, beyond which nothing is
// said to fit: a choice of this program.
const widest = 0.15

const btuh = 1055.05585262 / 3600

func (u Unit) coil(b *Balance) Reason {
	d := b.Design
	r := Reason{Topic: "coils", Verdict: Fits, Source: "ice forms below 32 °F; the machine model of this program"}
	r.Words = fmt.Sprintf("evaporates at %.0f °F, condenses at %.0f °F; %.0f %% of the cooling is sensible; air at %.0f %% of the old high stage's", f(d.Evaporating), f(d.Condensing), 100*d.Sensible, 100*b.Air)
	if coldest := b.Over[0]; len(b.Over) > 0 && coldest.Evaporating < 273.15 {
		r.Words += fmt.Sprintf("; at %.0f °F outdoors it evaporates at %.0f °F", f(coldest.Outdoor), f(coldest.Evaporating))
	}
	switch {
	case d.Evaporating < 273.15:
		r.Verdict, r.Next = Misfit, "The coil would ice on the design day: too large a compressor, or too little air."
	case u.FansTakeTap == No && b.Air < 0.95:
		r.Verdict, r.Next = Open, "The fan has no lower tap: read the air flow once it runs."
	}
	return r
}

func (u Unit) metering(b *Balance) Reason {
	r := Reason{Topic: "metering", Source: practice + "; an orifice passes with its area and the root of the pressure before it"}
	if !u.Fixed {
		r.Words = fmt.Sprintf("the valve passes %.0f %% of the flow of the old high stage", 100*b.Valve)
		r.Verdict = Fits
		if b.Valve < valveLeast {
			r.Verdict, r.Next = Open, "The valve may hunt at so small a flow: watch superheat over ten minutes, and have a smaller one at hand."
		}
		if b.Valve > 1.1 {
			r.Verdict, r.Next = Open, "More than the valve was chosen for: look up its capacity."
		}
		return r
	}
	r.Words = fmt.Sprintf("the fixed bore for it is %.2f of the old one's diameter", b.Bore)
	if u.Bore > 0 {
		r.Words += fmt.Sprintf(": %.4f in instead of %.4f in", b.Bore*u.Bore/0.0254, u.Bore/0.0254)
	}
	r.Verdict, r.Next = Fits, "Order it with the compressor; superheat decides in the end."
	if math.Abs(b.Bore-1) < 0.02 {
		r.Next = "The old bore can stay; superheat decides in the end."
	}
	return r
}

// oilReturn is the gas's speed in the suction line at the least flow of the range.
func (u Unit) oilReturn(b *Balance) Reason {
	r := Reason{Topic: "oil return", Source: practice + ": 5 m/s (1,000 ft/min) in a riser, 2.5 m/s level"}
	if u.SuctionBore == 0 {
		r.Verdict, r.Words, r.Next = Open, "the suction line's size is not entered", "Measure the suction line."
		return r
	}
	least := math.Inf(1)
	for _, a := range append([]At{b.Design}, b.Over...) {
		if a.SuctionRho > 0 {
			least = math.Min(least, a.Flow/a.SuctionRho/(math.Pi/4*u.SuctionBore*u.SuctionBore))
		}
	}
	want := levelSpeed
	if u.Riser != No {
		want = riserSpeed
	}
	r.Words = fmt.Sprintf("gas at %.1f m/s (%.0f ft/min) in the suction line at the least flow", least, least/0.3048*60)
	switch {
	case math.IsInf(least, 1):
		r.Verdict, r.Words = Open, "no speed of the gas could be computed"
	case least < want && u.Riser == Unknown && least >= levelSpeed:
		r.Verdict, r.Next = Open, "Enough for a level line, not for one that rises: look where it runs."
	case least < want:
		r.Verdict, r.Next = Misfit, "Oil may not come back: a thinner suction line or riser, or a larger compressor."
	case least > fastest:
		r.Verdict, r.Next = Open, "Fast: the suction line will be heard and cost capacity."
	default:
		r.Verdict = Fits
	}
	return r
}

func (c Candidate) discharge(b *Balance) Reason {
	hot := b.Design
	for _, a := range b.Over {
		if a.Discharge > hot.Discharge {
			hot = a
		}
	}
	r := Reason{Topic: "discharge temperature", Verdict: Fits, Source: "oil is commonly said to suffer above 225 °F at the line; " + practice}
	limit := hottestGas
	if c.MaxDischarge > 0 {
		limit, r.Source = math.Min(c.MaxDischarge, limit), "its data, and 225 °F; "+practice
	}
	r.Words = fmt.Sprintf("%.0f °F at %.0f °F outdoors by the model", f(hot.Discharge), f(hot.Outdoor))
	switch {
	case hot.Discharge > limit+8:
		r.Verdict, r.Next = Misfit, "Runs too hot on the hottest day."
	case hot.Discharge > limit-8:
		r.Verdict, r.Next = Open, "Close to its limit, within the model's doubt: read it on a hot day."
	}
	return r
}

func (c Candidate) envelope(b *Balance) Reason {
	r := Reason{Topic: "envelope", Source: "the range its data give"}
	if !c.ranged() {
		r.Verdict, r.Words, r.Next = Open, "its data give no range of evaporating and condensing temperature", "Ask for its envelope."
		return r
	}
	var out []string
	for _, a := range b.Over {
		if a.Outside != "" {
			out = append(out, fmt.Sprintf("at %.0f °F outdoors: %s", f(a.Outdoor), a.Outside))
		}
	}
	switch {
	case b.Design.Outside != "":
		r.Verdict, r.Words = Misfit, "on the design day: "+b.Design.Outside
	case len(out) > 0:
		r.Verdict, r.Words, r.Next = Open, strings.Join(out, "; "), "Ask its maker, or keep it from running then."
	case len(b.Over) < b.asked:
		r.Verdict, r.Words = Open, "the model finds no steady state in some of the weather"
	default:
		r.Verdict, r.Words = Fits, fmt.Sprintf("inside from %.0f to %.0f °F outdoors", f(b.Over[0].Outdoor), f(b.Over[len(b.Over)-1].Outdoor))
	}
	return r
}

const (
	psi = 6894.757293168361
	kPa = 1e3
	bar = 1e5
)

// inThree writes a gauge pressure in the units that data come in.
func inThree(p float64) string {
	return fmt.Sprintf("%.0f psig (%.1f bar, %.0f kPa)", p/psi, p/bar, p/kPa)
}

// uHigh is how far the model's pressure on the hottest day may be below the unit's.
const uHigh = 1.06

// over tells what a pressure by the model says against a limit near it.
func over(running, limit float64) Verdict {
	if running > limit*uHigh {
		return Misfit
	}
	return Open
}

// pressures holds the compressor's own limits against the unit's design pressures and
// against what the refrigerant makes on the hottest day, running and at rest.
func (u Unit) pressures(c Candidate, b *Balance) []Reason {
	high := Reason{Topic: "high side", Verdict: Open, Source: "its data, the unit's plate, the machine model"}
	running := 0.0
	if b != nil {
		for _, a := range b.Over {
			running = math.Max(running, a.High-u.site())
		}
	}
	switch {
	case c.MaxHigh == 0:
		high.Words, high.Next = "the greatest pressure that it stands is not stated", "Ask for its maximum working pressure, and in which unit."
	case c.MaxHigh < 5e5 || c.MaxHigh > 2e7:
		high.Words, high.Next = "its limit reads "+inThree(c.MaxHigh)+": in another unit?", "Look up the unit of the figure."
	case u.DesignHigh > 0 && c.MaxHigh < u.DesignHigh*(1-1e-9):
		high.Verdict, high.Words = Misfit, fmt.Sprintf("stands %s, the unit is designed for %s", inThree(c.MaxHigh), inThree(u.DesignHigh))
		high.Next = "The unit can reach more than it stands. Another compressor; or its maker says in writing which cut-out makes it good."
	case running > 0 && c.MaxHigh < running*uHigh:
		high.Verdict, high.Words = over(running, c.MaxHigh), fmt.Sprintf("stands %s, on the hottest day it makes %s by the model", inThree(c.MaxHigh), inThree(running))
	case u.DesignHigh > 0 && u.DesignHigh < running*uHigh && running <= 1.01*(b.OldHot.High-u.site()):
		high.Words = fmt.Sprintf("stands %s; on the hottest day it makes %s by the model, the unit is designed for %s, and the old one made as much", inThree(c.MaxHigh), inThree(running), inThree(u.DesignHigh))
		high.Next = "See that the high-pressure cut-out is there and opens below the unit's design pressure; read the pressure on a hot day."
	case u.DesignHigh > 0 && u.DesignHigh < running*uHigh:
		high.Verdict, high.Words = over(running, u.DesignHigh), fmt.Sprintf("on the hottest day it makes %s by the model, the unit is designed for %s", inThree(running), inThree(u.DesignHigh))
	case u.DesignHigh == 0 || running == 0:
		high.Words, high.Next = "stands "+inThree(c.MaxHigh)+"; the unit's design pressure or what it makes on the hottest day is not known", "Read the unit's plate."
	default:
		high.Verdict, high.Words = Fits, fmt.Sprintf("stands %s; the unit is designed for %s, the hottest day makes %s", inThree(c.MaxHigh), inThree(u.DesignHigh), inThree(running))
	}
	low := Reason{Topic: "low side", Verdict: Open, Source: "its data; saturation of the refrigerant at rest on the hottest day"}
	rest, err := u.Fluid.Bubble(u.hottest())
	switch {
	case c.MaxLow == 0:
		low.Words, low.Next = "the greatest pressure of its low side is not stated", "Ask for it."
	case err != nil:
		low.Words = err.Error()
	case c.MaxLow < rest.P-u.site():
		low.Verdict, low.Words = Misfit, fmt.Sprintf("stands %s, at rest the hottest day makes %s", inThree(c.MaxLow), inThree(rest.P-u.site()))
	case u.DesignLow > 0 && c.MaxLow < u.DesignLow*(1-1e-9):
		low.Verdict, low.Words = Misfit, fmt.Sprintf("stands %s, the unit's low side is designed for %s", inThree(c.MaxLow), inThree(u.DesignLow))
	default:
		low.Verdict, low.Words = Fits, fmt.Sprintf("stands %s, at rest the hottest day makes %s", inThree(c.MaxLow), inThree(rest.P-u.site()))
	}
	return []Reason{high, low}
}

// circuit asks package supply what the compressor asks of the electrical parts.
func (u Unit) circuit(c Candidate) ([]Reason, []supply.Row, error) {
	t, err := supply.Load()
	if err != nil {
		return nil, nil, err
	}
	v := u.Conversion
	if v.SupplyVolts == 0 {
		v.SupplyVolts = u.Volts
	}
	// Of a plate's range the end that is for this supply is what a start is held against.
	volts := c.Volts
	if c.VoltsLow > 0 && math.Abs(c.VoltsLow-v.SupplyVolts) < math.Abs(c.Volts-v.SupplyVolts) {
		volts = c.VoltsLow
	}
	v.New = supply.Side{RLA: c.RLA, BCSC: c.BCSC, LRA: c.LRA, Volts: volts, Capacitor: c.Capacitor, CapacitorVolts: c.CapacitorVolts}
	rows, err := t.OldNew(v)
	if err != nil {
		return nil, nil, fmt.Errorf("match: %s: %w", c.Name, err)
	}
	var rs []Reason
	for _, row := range rows {
		k := row.Check
		switch {
		case k == nil, row.Key == "volts", row.Key == "capacitor", row.Key == "capacitor-volts", row.Key == "contactor-poles", row.Key == "ground", row.Key == "sag-coil":
			continue // asked elsewhere, or a part that is bought new
		case k.Outcome == supply.Misfit && (row.Part == "contactor" || row.Part == "breaker" || row.Part == "disconnect"):
			rs = append(rs, Reason{row.Part + ": " + row.What, Note, "another " + row.Part + " is needed: " + k.Why, k.Rule.Cite(), k.Rule.Next})
		default:
			next := k.Rule.Next
			if k.Outcome == supply.Fits {
				next = "" // it says what to do where it does not
			}
			rs = append(rs, Reason{row.Part + ": " + row.What, Verdict(k.Outcome), k.Why, k.Rule.Cite(), next})
		}
	}
	r := Reason{Topic: "run capacitor", Source: "its data", Verdict: Note}
	switch {
	case u.Phases == 3:
		r.Words = "three phases: no run capacitor"
	case c.Capacitor == 0:
		r.Verdict, r.Words, r.Next = Open, "which run capacitor it needs is not stated", "Ask for microfarads and volts before buying: they are part of the order."
	case c.CapacitorVolts == 0:
		r.Verdict, r.Words, r.Next = Open, fmt.Sprintf("needs %.4g µF; at which voltage is not stated", c.Capacitor*1e6), "Ask for the volts."
	default:
		r.Words = fmt.Sprintf("needs %.4g µF, %.0f V or more", c.Capacitor*1e6, c.CapacitorVolts)
		if o := u.Conversion.Old.Capacitor; o > 0 && math.Abs(o-c.Capacitor) > 0.03*c.Capacitor {
			r.Words += fmt.Sprintf("; the old one of %.4g µF does not serve", o*1e6)
		}
	}
	return append(rs, r), rows, nil
}

// start says whether help to start is wanted, and why.
func (u Unit) start(c Candidate, rows []supply.Row) Reason {
	r := Reason{Topic: "start", Verdict: Note, Source: practice}
	volts, rated := 1.0, 0.0
	for _, row := range rows {
		if row.Key == "volts" {
			rated = row.New
		}
		if row.Key == "sag" && row.New > 0 && rated > 0 {
			volts = row.New / rated
		}
	}
	bleeds := u.Bleeds
	if u.Fixed {
		bleeds = Yes // a bore is always open
	}
	switch {
	case u.Phases == 3:
		r.Words = "three phases: no help to start; check the direction it turns"
	case volts < startShare:
		r.Words, r.Next = fmt.Sprintf("help to start is wanted: the branch leaves %.0f %% of its rated volts as it starts", 100*volts), "See first where the volts are lost: a thicker conductor helps better than a start capacitor."
	case bleeds == No && c.Kind != Scroll:
		r.Words, r.Next = "help to start is wanted: the valve does not bleed, it starts against pressure", "The start kit that its data name; a time delay of some minutes besides."
	case bleeds == No:
		r.Words = "the valve does not bleed; a scroll lets its pressures even out within itself: a time delay, and help to start only if its data ask for it"
	case bleeds == Unknown:
		r.Verdict, r.Words, r.Next = Open, "whether the valve bleeds at rest is not known", "Watch both gauges after it stops: even within some minutes, or not."
	default:
		r.Words = "the pressures even out at rest: a time delay, no help to start"
	}
	return r
}

func (u Unit) connections(c Candidate) Reason {
	r := Reason{Topic: "connections", Verdict: Note, Source: "its data and the old stubs"}
	if c.Suction == 0 || c.Discharge == 0 || u.Suction == 0 || u.Discharge == 0 {
		r.Verdict, r.Words, r.Next = Open, "sizes of its stubs or of the old ones are not entered", "Measure the old stubs."
		return r
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 0.4e-3 }
	if near(c.Suction, u.Suction) && near(c.Discharge, u.Discharge) {
		r.Verdict, r.Words = Fits, "stubs as the old ones"
		return r
	}
	var ws []string
	for _, s := range []struct {
		name     string
		new, old float64
	}{{"suction", c.Suction, u.Suction}, {"discharge", c.Discharge, u.Discharge}} {
		if !near(s.new, s.old) {
			ws = append(ws, fmt.Sprintf("%s %.3f in to %.3f in", s.name, s.new/0.0254, s.old/0.0254))
		}
	}
	r.Words = "reducers: " + strings.Join(ws, ", ")
	return r
}

func (u Unit) space(c Candidate) Reason {
	switch {
	case c.Height == 0 || u.Space == 0:
		return Reason{"size", Open, "its height or the room in the cabinet is not entered", "", "Measure the room above the feet."}
	case c.Height > u.Space:
		return Reason{"size", Misfit, fmt.Sprintf("%.1f in high, the cabinet has %.1f in", c.Height/0.0254, u.Space/0.0254), "its data and a tape", ""}
	}
	return Reason{"size", Fits, fmt.Sprintf("%.1f in high, the cabinet has %.1f in", c.Height/0.0254, u.Space/0.0254), "its data and a tape", ""}
}
