// Package plan makes the wiring plan of a job: it turns what the record says
// about the old unit and the new compressor into what the planner asks for.
package plan

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// ErrNoUnit means that the job does not say yet which old unit it is.
var ErrNoUnit = errors.New("choose the old unit's controls first")

// Plan is the planner's result with what had to be assumed for it.
type Plan struct {
	*planner.Result
	Assumed []string // data of the new compressor that the record lacks, and what stands in
}

// Unit is the old unit of the job, at its rated voltage.
func Unit(j *record.Job) (*netlist.Unit, error) {
	u, err := Drawn(j)
	if err != nil {
		return nil, err
	}
	if v, ok := j.SI(record.RatedVoltage, 0); ok {
		connect(u, v)
	}
	if v, ok := j.SI(record.RatedFrequency, 0); ok {
		u.Hertz = v
	}
	if name := j.Text(record.Refrigerant); u.Refrigerant == "" && strings.HasPrefix(name, "R-") {
		u.Refrigerant = name
	}
	return u, plated(j, u)
}

// plated gives the parts of a unit that are as the catalogue drew them what the record
// read on the unit at hand: the breaker or fuses fitted, and the microfarads of its one
// run capacitor and of the compressor that ran on it.
func plated(j *record.Job, u *netlist.Unit) error {
	breaker, fitted := j.SI(record.Breaker, 0)
	farads, marked := j.SI(record.OldCapRating, 0)
	if !fitted && !marked {
		return nil
	}
	drawn := u
	if name := j.Text(record.OldControls); len(j.Unit) > 0 && name != "" {
		var err error
		if drawn, err = netlist.Load(name); err != nil {
			return err
		}
	}
	var wrong error
	set := func(d *netlist.Device, param string, v float64) {
		for _, q := range netlist.Kinds[d.Kind].Params {
			if q.Name == param && (v < q.Min || v > q.Max) {
				wrong = fmt.Errorf("%.4g %s for the %s stands in Intake, and a plan is made for %.4g to %.4g: look at that entry", v, q.Unit, Words(*d), q.Min, q.Max)
				return
			}
		}
		// A number typed into the unit itself stands.
		if o := drawn.Device(d.ID); o == nil || o.Kind != d.Kind || o.P(param) != d.P(param) {
			return
		}
		d.Params = maps.Clone(d.Params)
		if d.Params == nil {
			d.Params = map[string]float64{}
		}
		d.Params[param] = v
	}
	var caps, comps []*netlist.Device
	for i := range u.Devices {
		switch d := &u.Devices[i]; {
		case d.Kind == "supply" && fitted:
			set(d, "breaker-amps", breaker)
		case d.Kind == "capacitor-dual" || d.Kind == "capacitor-run":
			caps = append(caps, d)
		case strings.HasPrefix(d.Kind, "compressor-"):
			comps = append(comps, d)
		}
	}
	if marked && len(caps) == 1 && len(comps) == 1 {
		was := caps[0].P("farads")
		if comps[0].P("farads") == was {
			set(comps[0], "farads", farads)
		}
		set(caps[0], "farads", farads)
	}
	return wrong
}

// DrawingMark tells one drawing of the old unit from another. It is asked for at every
// key typed.
func DrawingMark(j *record.Job) (string, error) {
	return drawings.Of(j.Text(record.OldControls)+" "+string(j.Unit), func() (string, error) {
		u, err := Drawn(j)
		if err != nil {
			return "", err
		}
		return "drawing " + short(u.JSON()), nil
	})
}

var drawings memo.Last[string]

// Compared tells whether somebody said that the drawing as it is now was compared with
// the unit at hand.
func Compared(j *record.Job) bool {
	m, err := DrawingMark(j)
	return err == nil && j.Text(record.UnitCompared) == m
}

// Drawn is the old unit of the job as drawn, for 240 V: the one edited for it,
// else the catalogue's.
func Drawn(j *record.Job) (*netlist.Unit, error) {
	if len(j.Unit) > 0 {
		u, err := netlist.Parse(j.Unit)
		if err != nil {
			return nil, fmt.Errorf("the unit kept with this job: %w", err)
		}
		return u, nil
	}
	name := j.Text(record.OldControls)
	if name == "" {
		return nil, ErrNoUnit
	}
	return netlist.Load(name)
}

// connect sets a unit drawn for 240 V to the rated voltage of the
// unit at hand: its supply, and the line-voltage parts made for that supply.
func connect(u *netlist.Unit, volts float64) {
	const drawn = 240
	for i := range u.Devices {
		d := &u.Devices[i]
		param := "volts"
		switch {
		case d.Kind == "supply", d.Kind == "heater-crankcase",
			strings.HasPrefix(d.Kind, "compressor-"), strings.HasPrefix(d.Kind, "fan-"), strings.HasPrefix(d.Kind, "blower-"):
		case d.Kind == "transformer":
			param = "primary-volts"
		default:
			continue
		}
		if d.P(param) != drawn {
			continue
		}
		if d.Params == nil {
			d.Params = map[string]float64{}
		}
		d.Params[param] = volts
	}
}

// stated is what the plan takes of the new compressor: the first of the keys
// that was entered, and where it goes.
var stated = []struct {
	keys []record.Key
	into func(*planner.Compressor) *float64
}{
	{[]record.Key{record.NewVoltage, record.RatedVoltage}, func(c *planner.Compressor) *float64 { return &c.Volts }},
	{[]record.Key{record.NewRLA}, func(c *planner.Compressor) *float64 { return &c.RLA }},
	{[]record.Key{record.NewLRA}, func(c *planner.Compressor) *float64 { return &c.LRA }},
	{[]record.Key{record.CapRating}, func(c *planner.Compressor) *float64 { return &c.Farads }},
	{[]record.Key{record.CapVoltageNeeded}, func(c *planner.Compressor) *float64 { return &c.CapVolts }},
	{[]record.Key{record.NewRRun}, func(c *planner.Compressor) *float64 { return &c.RunOhms }},
	{[]record.Key{record.NewRStart}, func(c *planner.Compressor) *float64 { return &c.StartOhms }},
}

// Reads lists the fields that a plan rests on, besides the unit kept with the
// job and the answers to the planner's questions. Whoever keeps a plan makes it
// anew when one of them changes.
func Reads() []record.Key {
	keys := []record.Key{record.OldControls, record.RatedVoltage, record.RatedFrequency, record.IndoorControl, record.Breaker, record.OldCapRating, record.FanFLA, record.Refrigerant}
	for _, q := range stated {
		keys = append(keys, q.keys...)
	}
	return keys
}

// Target is the new compressor as the record states it; what is missing is
// taken from the planner's stand-in and named.
func Target(j *record.Job) (planner.Target, []string) {
	t := planner.DefaultTarget()
	c := &t.Compressor
	var assumed []string
	for _, q := range stated {
		found := false
		for _, k := range q.keys {
			if x, ok := j.SI(k, 0); ok {
				if a, _ := j.Number(k); a.Low != a.Typed { // a plate's range: the end for this supply
					if v, ok := j.SI(record.RatedVoltage, 0); ok {
						x = a.Near(v)
					}
				}
				*q.into(c), found = x, true
				break
			}
		}
		if !found {
			f := q.keys[0].Field()
			if u, err := units.Lookup(f.Dim, f.Unit); err == nil {
				assumed = append(assumed, fmt.Sprintf("%s %.4g %s", f.Label, u.FromSI(*q.into(c), 0), u.Label))
			}
		}
	}
	if x, ok := j.SI(record.FanFLA, 0); ok { // one size of breaker here and in Electrical
		t.Besides = x
	}
	switch j.Text(record.IndoorControl) {
	case record.ControlConventional:
		t.Indoor = "conventional"
	case record.ControlDigital:
		t.Indoor = "digital"
	}
	if hz, ok := j.SI(record.RatedFrequency, 0); ok && hz != t.Compressor.Hertz {
		t.Compressor.Hertz = 0 // the new compressor's own frequency is no field: not known where the supply's is unusual
	}
	t.Assumed = len(assumed) > 0
	return t, assumed
}

// Answers are the decisions answered in the record, by the planner's keys.
func Answers(j *record.Job) map[string]string {
	a := map[string]string{}
	for _, e := range j.Entries {
		if name, ok := record.PlanName(e.Key); ok {
			if e.Value == "" {
				delete(a, name)
			} else {
				a[name] = e.Value
			}
		}
	}
	return a
}

// Raised are the questions that the job's unit raises and that a conversion is not
// done without: see planner.Asked. None of a unit that is refused.
func Raised(j *record.Job) ([]string, error) {
	return raised.Of(mark(j), func() ([]string, error) {
		u, err := Unit(j)
		if err != nil {
			return nil, err
		}
		t, _ := Target(j)
		return planner.Questions(u, t)
	})
}

var raised memo.Last[[]string]

// For makes the plan without its proof: devices, conductors and work list. What it
// returns is shared: every reading of the check-out is held against it.
func For(j *record.Job) (*Plan, error) {
	return planned.Of(key(j), func() (*Plan, error) { return build(j, planner.Plan) })
}

// Checked makes the plan with its proof, without the single faults and the
// check-out list: what paper shows, in a fraction of the time.
func Checked(ctx context.Context, j *record.Job) (*Plan, error) {
	return checked.Of(key(j), func() (*Plan, error) {
		p, err := For(j)
		if err != nil || p.Refused != "" {
			return p, err
		}
		own := *p.Result // it is given its proof; the plan alone stays as it is
		own.Untried, own.Decisions = slices.Clip(own.Untried), slices.Clip(own.Decisions)
		p = &Plan{&own, p.Assumed}
		return p, p.Check(ctx, nil)
	})
}

// Proved makes the plan with its proof, the single faults and the check-out
// list. It takes longer: progress is called as it goes on, and ctx ends it. A plan
// made before is at hand at once.
func Proved(ctx context.Context, j *record.Job, progress func(done, total int)) (*Plan, error) {
	return proved.Of(key(j), func() (*Plan, error) {
		return build(j, func(u *netlist.Unit, t planner.Target, a map[string]string) (*planner.Result, error) {
			return planner.Make(ctx, u, t, a, progress)
		})
	})
}

// Plans are kept because several ask for one: the pane, shown again in other colours
// or after an undo, the sheet and its second reading. Nobody changes one.
var planned, checked, proved memo.Last[*Plan]

// key is all that a plan is made of.
func key(j *record.Job) string {
	m := mark(j)
	if m == "" {
		return "" // a unit that cannot be read
	}
	_, assumed := Target(j)
	return m + strings.Join(assumed, ",")
}

func build(j *record.Job, how func(*netlist.Unit, planner.Target, map[string]string) (*planner.Result, error)) (*Plan, error) {
	u, err := Unit(j)
	if err != nil {
		return nil, err
	}
	t, assumed := Target(j)
	r, err := how(u, t, Answers(j))
	if errors.Is(err, planner.ErrDecision) {
		r, err = how(u, t, known(u, t, Answers(j)))
	}
	if err != nil {
		return nil, err
	}
	return &Plan{r, assumed}, nil
}

// known drops answers to questions that this unit does not raise: they belong
// to a unit chosen before, and stay in the record.
func known(u *netlist.Unit, t planner.Target, answers map[string]string) map[string]string {
	r, err := planner.Plan(u, t, nil)
	if err != nil {
		return answers
	}
	k := map[string]string{}
	if v, ok := answers[planner.Acknowledge]; ok {
		k[planner.Acknowledge] = v
	}
	for _, d := range r.Decisions {
		if v, ok := answers[d.Key]; ok {
			k[d.Key] = v
		}
	}
	return k
}
