package assess

import (
	gocontext "context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"retrostage/assets"
	"retrostage/reports/choice"
	"retrostage/reports/record"
	"retrostage/thermo/season"
	"retrostage/thermo/units"
)

// Choices is the options of the job side by side.
type Choices struct {
	Refused string   // why nothing is compared, "" if something is
	Assumed []string // what was not entered and is taken instead
	Options []choice.Option
	Terms   choice.Terms
	Ranking choice.Ranking
	Verdict choice.Verdict
	Judged  bool      // Verdict says something
	Lines   []LoadBin // the house over the season
	Energy  bool      // the season's energy is counted
	Parts   []PartLife
	House   float64  // W at 95 °F (35 °C) that the house is taken to ask for
	Housed  bool     // it was entered
	Supply  []string // on the refrigerant's supply, with rule and date read
}

// PartLife is the life of a kind of part as the comparison takes it, and the fields in
// which its years and its shape are entered.
type PartLife struct {
	Kind       string
	Life       choice.Life
	Key, Shape record.Key
}

// LoadBin is one bin of the season: the house and the machines, K and W.
type LoadBin struct {
	Outdoor, Share      float64
	Load                float64
	High, Low, One      float64 // capacities
	TwoPower, OnePower  float64 // means over the bin's hours
	OneUnmet, TwoUnmet  float64
	TwoModes, OneDoings string
}

// choiceTable is assets/limits/choice.json.
type choiceTable struct {
	Lives map[string]struct {
		Scale, Shape, Doubt float64
		Confidence          string
	}
	Season struct {
		TwoStage   float64 `json:"two_stage_ratio"`
		NewUnit    float64 `json:"new_unit_ratio"`
		Unit       string
		Spread     float64
		LowShare   float64 `json:"low_share"`
		LowBetter  float64 `json:"low_better"`
		Cycling    float64 `json:"cycling_loss"`
		Estimate   float64 `json:"estimate_spread"`
		Rated      float64 `json:"rated_spread"`
		Confidence string
	}
	Prices struct {
		Spread, Discount, Horizon float64
		Confidence                string
	}
	Supply []struct {
		For          []string
		Text, Source string
	}
}

var choiceData = sync.OnceValues(func() (*choiceTable, error) {
	b, err := assets.FS.ReadFile("limits/choice.json")
	if err != nil {
		return nil, err
	}
	var t choiceTable
	return &t, json.Unmarshal(b, &t)
})

// draws is how often a choice is drawn on each change of the job; the seed is always
// the same, so that the same job gives the same figures.
const (
	draws = 20_000
	seed  = 1
)

// choosing gathers the options while the context is held.
type choosing struct {
	c   *context
	t   *choiceTable
	out *Choices
}

// gathered takes from the context all that a comparison needs.
func (c *context) gathered() (*choosing, error) {
	t, err := choiceData()
	if err != nil {
		return nil, err
	}
	k := &choosing{c: c, t: t, out: &Choices{}}
	k.gather()
	return k, nil
}

// compare ranks and draws.
func (k *choosing) compare() (*Choices, error) {
	o := k.out
	if o.Refused != "" {
		return o, nil
	}
	var err error
	if o.Ranking, err = choice.Compare(o.Options, o.Terms); err != nil {
		o.Refused = err.Error()
		return o, nil
	}
	if len(o.Ranking.Costs) == 0 {
		o.Refused = "no option can be compared yet: enter at least two prices"
		return o, nil
	}
	o.Verdict, o.Judged, err = choice.Judge(o.Options, o.Terms, o.Ranking)
	return o, err
}

// Draw draws the comparison: how wide the outcome is, and how often which option is the
// cheapest in hindsight. Nothing is drawn where nothing was compared.
func (o *Choices) Draw(ctx gocontext.Context) (choice.Outcome, error) {
	if o.Refused != "" {
		return choice.Outcome{}, nil
	}
	return choice.Simulate(ctx, o.Options, o.Terms, draws, seed, nil)
}

func (k *choosing) assume(format string, a ...any) {
	if w := fmt.Sprintf(format, a...); !slices.Contains(k.out.Assumed, w) {
		k.out.Assumed = append(k.out.Assumed, w)
	}
}

// has is the number entered, SI, or d with a word on it.
func (k *choosing) has(key record.Key, d float64, said string) float64 {
	if r := k.c.reading(key); r != nil && r.err == nil {
		return r.si
	}
	if said != "" {
		k.assume("%s", said)
	}
	return d
}

func (k *choosing) gather() {
	c, o, t := k.c, k.out, k.t
	o.Terms = choice.Terms{HeatPump: c.job.Text(record.HeatPump) == record.Yes,
		Discount: k.has(record.DiscountRate, t.Prices.Discount, fmt.Sprintf("interest of %.0f %% a year above inflation, from memory", 100*t.Prices.Discount)),
		Horizon:  t.Prices.Horizon, Hours: choice.Sure(1), Tariff: choice.Sure(0)}
	if o.Terms.HeatPump {
		o.Refused = choice.ErrHeatPump.Error()
		return
	}
	if c.job.Text(record.HeatPump) == "" {
		k.assume("that it is no heat pump: not answered")
	}
	bins, hours, err := c.weather()
	if err != nil {
		o.Refused = err.Error()
		return
	}
	tariff := c.value(record.Tariff)
	if o.Energy = hours > 0 && tariff > 0 && c.value(record.NominalCapacity) > 0; o.Energy {
		o.Terms.Hours, o.Terms.Tariff = choice.Around(1, 0.15), choice.Around(tariff, 0.10)
		k.assume("cooling hours within 15 %%, tariff within 10 %%, from memory")
	} else {
		k.assume("no energy: enter cooling hours, tariff and nominal capacity")
	}
	e, err := k.season(hours, bins)
	if err != nil {
		o.Refused = err.Error()
		return
	}
	if c.fluid != nil {
		if w := c.gas(); w != "" {
			o.Supply = append(o.Supply, w)
		}
		for _, s := range t.Supply {
			if slices.Contains(s.For, c.fluid.Name()) {
				o.Supply = append(o.Supply, s.Text+" ("+s.Source+")")
			}
		}
	}
	k.options(e)
}

// gas is what of the refrigerant the options that keep it need: kind, amount, price and its
// rise, as entered; "" where the amount is not known. An offer is taken to hold it.
func (c *context) gas() string {
	kg, price := c.value(record.TagCharge), c.value(record.GasPrice)
	if c.fluid == nil || kg == 0 {
		return ""
	}
	lb := kg / 0.45359237
	w := fmt.Sprintf("%s, %.3g lb (%.3g kg) in it by the plate", c.fluid.Name(), lb, kg)
	if price > 0 {
		w += fmt.Sprintf(": a whole charge at %.4g a pound is %.0f, taken to be in the price offered", price, lb*price)
		if r := c.value(record.GasRise); r != 0 {
			w += fmt.Sprintf("; its price is expected to change by %.3g %% a year", 100*r)
		}
	}
	return w
}

// weather is the bins of the season and its hours: as typed for this place, else the
// standard's shares of the cooling hours.
func (c *context) weather() (bins []season.Bin, hours float64, err error) {
	text := strings.TrimSpace(c.job.Text(record.WeatherBins))
	if text == "" {
		return season.Standard(), c.value(record.CoolingHours), nil
	}
	lines := strings.Split(text, "\n")
	if len(lines) > 60 {
		return nil, 0, fmt.Errorf("hours by temperature: %d lines; allowed 60", len(lines))
	}
	for n, line := range lines {
		words := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' || r == ';' })
		if len(words) == 1 {
			words = strings.Split(line, ",")
		}
		if len(words) == 0 {
			continue
		}
		var x [2]float64
		for i := 0; i < 2 && err == nil && len(words) == 2; i++ {
			x[i], err = noted(words[i])
		}
		if err != nil || len(words) != 2 {
			return nil, 0, fmt.Errorf("hours by temperature, line %d: not degrees and hours", n+1)
		}
		b := season.Bin{T: (x[0] + 459.67) / 1.8, Share: x[1]}
		if !(x[0] >= 50 && x[0] <= 135 && x[1] >= 0 && x[1] <= 6000) || len(bins) > 0 && !(b.T > bins[len(bins)-1].T) {
			return nil, 0, fmt.Errorf("hours by temperature, line %d: allowed 50 to 135 °F, rising, and 0 to 6000 hours", n+1)
		}
		bins, hours = append(bins, b), hours+b.Share
	}
	if !(hours >= 1) || hours > 8784 {
		return nil, 0, fmt.Errorf("hours by temperature: %g in all; a year has 8760", hours)
	}
	for i := range bins {
		bins[i].Share /= hours
	}
	return bins, hours, nil
}

// energies are kWh a season.
type energies struct{ like, convert, replace, system choice.Spread }

func (k *choosing) season(hours float64, bins []season.Bin) (e energies, err error) {
	c, o, s := k.c, k.out, k.t.Season
	q := c.value(record.NominalCapacity)
	if q == 0 {
		return e, nil
	}
	unit, err := units.Lookup(units.Efficiency, s.Unit)
	if err != nil {
		return e, err
	}
	load := season.Sized(q)
	if h := c.value(record.HouseLoad); h > 0 {
		load.Q, o.Housed = h, true
	}
	o.House = load.At((95 + 459.67) / 1.8)
	if !o.Housed && o.Energy {
		k.assume("a house that the standard sizes for this unit: nobody entered what it asks for")
	}
	two, one, err := k.machines(q)
	if err != nil {
		return e, err
	}
	// The rating knows the house and the weather of the standard; the season here knows
	// this house, and this place where its hours were typed.
	rated, err := season.Run(two, season.Sized(q), season.Standard())
	if err != nil {
		return e, err
	}
	r2, err := season.Run(two, load, bins)
	if err != nil {
		return e, err
	}
	r1, err := season.Run(one, load, bins)
	if err != nil {
		return e, err
	}
	spread := s.Rated
	ratio := c.value(record.OldSeasonal)
	if ratio == 0 {
		ratio, spread = unit.ToSI(s.TwoStage, 0), s.Spread
		if o.Energy {
			k.assume("a SEER of %.1f Btu/Wh for two stages, give or take %.0f %%, from memory", s.TwoStage, 100*s.Spread)
		}
	}
	scale := rated.Ratio() / ratio
	for i, b := range bins {
		h, l := two.Full, *two.Low
		x := LoadBin{Outdoor: b.T, Share: b.Share, Load: load.At(b.T), TwoPower: r2.Hours[i].Power * scale, OnePower: r1.Hours[i].Power * scale,
			OneUnmet: r1.Hours[i].Unmet, TwoUnmet: r2.Hours[i].Unmet, TwoModes: r2.Hours[i].Mode.String(), OneDoings: r1.Hours[i].Mode.String()}
		x.High, _ = h.At(b.T)
		x.Low, _ = l.At(b.T)
		x.One, _ = one.Full.At(b.T)
		o.Lines = append(o.Lines, x)
	}
	if !o.Energy {
		return e, nil
	}
	kwh := func(w float64) float64 { return w * hours / 1e3 }
	e.like = choice.Around(kwh(r2.Power*scale), spread)
	e.convert = choice.Around(kwh(r1.Power*scale), math.Hypot(spread, s.Estimate))
	k.assume("the conversion's energy by average curves of one-speed and two-speed units (NREL/TP-5500-56354, as an open project carries them), give or take %.0f %%: it has no rating", 100*math.Hypot(spread, s.Estimate))
	fresh := func(key record.Key, what string) choice.Spread {
		r, w := c.value(key), s.Rated
		if r == 0 {
			r, w = unit.ToSI(s.NewUnit, 0), s.Spread
			k.assume("%s at a SEER of %.1f Btu/Wh, give or take %.0f %%, from memory", what, s.NewUnit, 100*s.Spread)
		}
		return choice.Around(kwh(r2.Cooling/r), w)
	}
	e.replace, e.system = fresh(record.NewSeasonal, "the new unit"), fresh(record.SystemSeasonal, "the whole system")
	return e, nil
}

// machines are the old unit with both stages and with its high stage alone, each of a
// power that the rating scales.
func (k *choosing) machines(q float64) (two, one season.Machine, err error) {
	s := k.t.Season
	const eer = 3.3 // W/W at 95 °F; drops out
	high, err := season.ByAverage(season.HighOfTwo, q, q/eer)
	if err != nil {
		return two, one, err
	}
	low, err := season.ByAverage(season.LowOfTwo, q*s.LowShare, q*s.LowShare/(eer*s.LowBetter))
	if err != nil {
		return two, one, err
	}
	single, err := season.ByAverage(season.OneSpeed, q, q/eer)
	return season.Machine{Full: high, Low: &low, CdFull: s.Cycling, CdLow: s.Cycling}, season.Machine{Full: single, CdFull: s.Cycling}, err
}

func (k *choosing) life(kind, part string, key record.Key, age float64) choice.Life {
	d := k.t.Lives[kind]
	l := choice.Life{Part: part, Shape: d.Shape, Scale: d.Scale, Doubt: d.Doubt, Age: age, Source: "from memory", Recalled: true}
	scale, shape := k.c.value(key), k.c.value(shapes[key])
	if scale > 0 {
		l.Scale, l.Source, l.Recalled = scale, "years entered; shape and doubt from memory", false
	}
	if shape > 0 {
		l.Shape = shape
		if l.Source = "shape entered; years and doubt from memory"; scale > 0 {
			l.Source = "entered; doubt from memory"
		}
	}
	for _, g := range k.out.Parts {
		if g.Key == key {
			return l
		}
	}
	k.out.Parts = append(k.out.Parts, PartLife{Kind: kind, Life: l, Key: key, Shape: shapes[key]})
	return l
}

// shapes are the fields of the shapes, by those of the years.
var shapes = map[record.Key]record.Key{record.CompressorLife: record.CompressorShape, record.UnitLife: record.UnitShape, record.CoilLife: record.CoilShape}

func (k *choosing) options(e energies) {
	c, o := k.c, k.out
	age, known := c.age()
	if !known {
		age = 10
		k.assume("an age of ten years: enter when it was installed, and the date of the visit")
	}
	stays := []choice.Life{k.life("outdoor unit", "outdoor unit as it is", record.UnitLife, age), k.life("indoor coil", "indoor coil as it is", record.CoilLife, age)}
	coil := stays[1:]
	if y := c.value(record.LifeLeft); y > 0 {
		// Entered as the years that the rest should last: its mean, of a life that wears.
		l := choice.Life{Part: "what stays of the unit", Shape: 3, Scale: y / math.Gamma(1+1.0/3), Doubt: 0.3, Source: "years entered; shape and doubt from memory"}
		stays = []choice.Life{l}
		k.assume("what stays lasts %.0f years, as entered, give or take", y)
	}
	with := func(ls []choice.Life, more ...choice.Life) []choice.Life { return append(slices.Clone(ls), more...) }
	fresh := func(kind, part string, key record.Key) choice.Life { return k.life(kind, part, key, 0) }
	lost := []string{"the second stage: longer, gentler running on mild days, and the drier air that comes of it", "the certified rating of the pair: the unit is altered"}
	o.Options = []choice.Option{
		k.option("like", "Same two-stage compressor", record.CostLike, record.WaitLike, record.WarrantyLike, e.like, with(stays, fresh("compressor", "new two-stage compressor", record.CompressorLife)), nil),
		k.option("convert", "Single-stage conversion", record.CostConvert, record.WaitConvert, record.WarrantyConvert, e.convert, with(stays, fresh("compressor", "new single-stage compressor", record.CompressorLife)), lost),
		k.option("replace", "New outdoor unit", record.CostReplace, record.WaitReplace, record.WarrantyReplace, e.replace, with(coil, fresh("compressor", "new unit's compressor", record.CompressorLife), fresh("outdoor unit", "new outdoor unit", record.UnitLife)),
			[]string{"the certified rating, unless it is listed with the coil that stays"}),
		k.option("system", "Whole system", record.CostSystem, record.WaitSystem, record.WarrantySystem, e.system, []choice.Life{fresh("compressor", "new system's compressor", record.CompressorLife), fresh("outdoor unit", "new system's outdoor unit", record.UnitLife), fresh("indoor coil", "new indoor coil", record.CoilLife)}, nil),
	}
	if v := c.value(record.ConvertPart); v > 0 && v <= c.value(record.CostConvert) {
		p := &o.Options[1]
		p.Labour = p.Part.Times((c.value(record.CostConvert) - v) / c.value(record.CostConvert))
		p.Part = p.Part.Times(v / c.value(record.CostConvert))
	}
	if d := c.value(record.DisposalCost); d > 0 {
		o.Options[2].Disposal, o.Options[3].Disposal = choice.Sure(d), choice.Sure(d)
	}
	k.others(e)
}

// others are the user's own way and to leave it.
func (k *choosing) others(e energies) {
	c, o := k.c, k.out
	if c.value(record.CostOwn) > 0 || c.job.Text(record.OwnOption) != "" {
		y := k.has(record.OwnLife, 0, "")
		own := k.option("own", c.job.Text(record.OwnOption), record.CostOwn, record.WaitLike, record.WarrantyLike, e.like, []choice.Life{{Part: "own way", Shape: 3, Scale: math.Max(y, 1), Doubt: 0.3, Source: "entered"}}, nil)
		if own.Name == "" {
			own.Name = "Your own option"
		}
		own.Wait, own.Warranty = choice.Spread{}, choice.Warranty{}
		if y == 0 {
			own.Missing = append(own.Missing, record.OwnLife.Label())
		}
		if o.Energy {
			k.assume("%s takes the energy of two stages", own.Name)
		}
		o.Options = append(o.Options, own)
	}
	leave := choice.Option{Key: "leave", Name: "Leave it", Lives: []choice.Life{{Part: "leaving it", Shape: 3, Scale: 50, Source: "by convention"}}, Lost: []string{"cooling"}}
	if v := c.value(record.CostLeave); v > 0 {
		leave.Upkeep = choice.Around(v, 0.2)
	} else {
		leave.Missing = []string{record.CostLeave.Label()}
	}
	o.Options = append(o.Options, leave)
}

func (k *choosing) option(key, name string, cost, wait, warranty record.Key, energy choice.Spread, lives []choice.Life, lost []string) choice.Option {
	c := k.c
	o := choice.Option{Key: key, Name: name, Energy: energy, Lives: lives, Lost: lost, Warranty: choice.Warranty{Parts: c.value(warranty), Known: c.reading(warranty) != nil}, Wait: choice.Sure(c.value(wait)), Waited: c.reading(wait) != nil}
	price := c.value(cost)
	if c.reading(cost) == nil {
		o.Missing = append(o.Missing, cost.Label())
	}
	spread := k.has(record.PriceSpread, k.t.Prices.Spread, fmt.Sprintf("prices within %.0f %%", 100*k.t.Prices.Spread))
	o.Part = choice.Around(price, spread)
	if leak := c.value(record.LeakYear); leak > 0 && (key == "like" || key == "convert") {
		o.Refrigerant.Leak = choice.Around(leak, 0.5)
		o.Refrigerant.PerKg = choice.Around(c.value(record.GasPrice)/0.45359237, 0.2)
		o.Refrigerant.Rise = c.value(record.GasRise)
	}
	return o
}
