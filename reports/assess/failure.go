package assess

import (
	"cmp"
	"time"

	"retrostage/reports/cause"
	"retrostage/reports/record"
)

// evidence is the old unit as package cause examines it.
func (c *context) evidence() cause.Evidence {
	answer := func(k record.Key) cause.Answer {
		switch c.job.Text(k) {
		case record.Yes:
			return cause.Yes
		case record.No:
			return cause.No
		}
		return cause.NotDone
	}
	is := func(k record.Key, yes string, no ...string) cause.Answer {
		switch t := c.job.Text(k); {
		case t == yes:
			return cause.Yes
		case len(no) > 0 && t == no[0]:
			return cause.No
		}
		return cause.NotDone
	}
	e := cause.Evidence{
		Rated: c.value(record.RatedVoltage), Supply: c.value(record.CauseSupply), Call: answer(record.CauseCall), Passes: answer(record.CausePasses),
		CapMarked: c.value(record.OldCapRating), Cap: c.value(record.OldCapFound), CapBroken: is(record.OldCapState, record.CapBroken, "sound"),
		CS: c.ohms(record.OldRCS), CR: c.ohms(record.OldRCR), SR: c.ohms(record.OldRSR),
		DataStart: c.value(record.OldRStart), DataRun: c.value(record.OldRRun), WindingT: c.value(record.OldWindingTemp),
		AtTerminals: is(record.WindingsReadAt, record.AtTerminals, "the leads"), InsulationT: c.value(record.OldWindingTemp), InsulationAgain: is(record.InsulationAgain, record.StillLow, "not done"),
		TrialGood: answer(record.CauseTrialGood), Inrush: c.value(record.CauseInrush), LRA: c.value(record.OldLRA),
		Smell: answer(record.OilSmell), Metal: answer(record.OilMetal), Flood: answer(record.CauseFlood), Heat: answer(record.CauseHeat), Noise: answer(record.CauseNoise),
		Recovered: c.first(record.CauseRecovered, record.Recovered), Plate: c.value(record.TagCharge),
		CoilFouled: answer(record.CauseCoil), AirLow: answer(record.CauseAir), ShortCycles: answer(record.CauseCycles), DrierBlocked: answer(record.CauseDrier), HeaterDead: answer(record.CauseHeater),
	}
	e.InrushTaken = c.reading(record.CauseInrush) != nil
	if r := c.reading(record.OldInsulation); r != nil && r.err == nil {
		e.Insulation, e.InsulationTaken = r.si, true
	}
	switch c.job.Text(record.OverloadWait) {
	case record.OverloadClosed:
		e.ColdAfterWait, e.ClosedAfterWait = cause.Yes, cause.Yes
	case record.OverloadOpen:
		e.ColdAfterWait, e.ClosedAfterWait = cause.Yes, cause.No
	}
	// Read with the shell cold, an overload has had its time: open then is open after the
	// wait. Closed says nothing of one that had opened before.
	if e.ColdAfterWait == cause.NotDone && c.job.Text(record.CauseShell) == record.ShellCold {
		e.ColdAfterWait, e.ClosedAfterWait = cause.Yes, cause.No
	}
	e.Trial = map[string]cause.Trial{record.TrialTrips: cause.TripsAtOnce, record.TrialHums: cause.Hums, record.TrialNothing: cause.Nothing, record.TrialNoLift: cause.RunsNoLift,
		record.TrialThenTrips: cause.RunsTrips, record.TrialPumps: cause.RunsPumps}[c.job.Text(record.CauseTrial)]
	e.Oil = map[string]cause.Oil{"clear": cause.OilClear, "dark": cause.OilDark, "burnt": cause.OilBurnt}[c.job.Text(record.OilState)]
	e.Acid = map[string]cause.Acid{"negative": cause.AcidNone, "doubtful": cause.AcidDoubtful, "positive": cause.AcidShown}[c.job.Text(record.AcidTest)]
	e.Age, e.AgeKnown = c.age()
	return e
}

// age is how old the unit was on the day of the visit, years.
func (c *context) age() (float64, bool) {
	parse := func(k record.Key) (time.Time, bool) {
		t := c.job.Text(k)
		for _, l := range []string{"2006-01-02", "2006-01", "2006"} {
			if d, err := time.Parse(l, t); err == nil {
				return d, true
			}
		}
		return time.Time{}, false
	}
	from, ok1 := parse(record.UnitInstalled)
	to, ok2 := parse(record.VisitDate)
	if !ok2 && len(c.job.Entries) > 0 { // the day on which the job was begun
		to, ok2 = c.job.Entries[0].Time, true
	}
	if !ok1 || !ok2 || to.Before(from) {
		return 0, false
	}
	return to.Sub(from).Hours() / 24 / 365.25, true
}

// examined is what the evidence comes to.
func (c *context) examined() (cause.Examination, error) {
	return remember(c, memoKey{kind: memoFailure}, func() (cause.Examination, error) { return cause.Examine(c.evidence()) })
}

// clash is asked about at the entry that the old compressor's other readings contradict.
func (c *context) clash() (ps []Problem) {
	switch words, current := c.evidence().Clash(); {
	case words == "":
	case current:
		ps = append(ps, Problem{record.CauseInrush, words})
	default:
		ps = append(ps, Problem{record.CauseTrial, words})
	}
	return ps
}

// RootShown are the findings that show a root cause gone; one of them is enough. The
// causes are those of [record.Roots].
var RootShown = map[string][]string{
	"low supply voltage": {"supply_voltage"},
	"the call or the line does not reach the compressor": {"control_voltage", "contact_drop"},
	rootCapacitor:         {"cap_underload", "cap_meter"},
	"outdoor coil fouled": {"condensing_over_ambient"},
	"charge lost":         {"pressure_hold"},
	"too much charge":     {"subcooling", "superheat_error"},
	"liquid comes back or gathers in the shell": {"superheat", "superheat_error"},
	"too little indoor air":                     {"airflow_per_ton", "split_error"},
	"short cycles":                              {"supply_voltage"},
	"drier or strainer blocked":                 {"subcooling", "superheat_error"},
	"ran hot, reason not found":                 {"discharge_temp_line", "condensing_over_ambient"},
	"no reason found":                           {"run_current", "discharge_temp_line"},
	"wear by age":                               {},
	record.RootOther:                            {"run_current", "discharge_temp_line"},
}

const rootCapacitor = "run capacitor below its value"

// rootOpen are the root causes that no reading shows gone, each by its field.
func (c *context) rootOpen(fs []Finding) (out []Matter) {
	seen := map[string]bool{}
	for _, k := range record.RootFields() {
		root := c.job.Text(k)
		if label := lacks(RootShown[root], fs); label != "" && !seen[root] {
			out = append(out, c.matter(IsMissing, record.HandOver, k.String(), "root cause removed: "+root, "wants a reading that is within: "+label))
		}
		seen[root] = true
	}
	return out
}

// lacks is the first of the findings of which one is to be within, "" where one is or
// none is wanted.
func lacks(wants []string, fs []Finding) string {
	label := ""
	for _, k := range wants {
		for _, f := range fs {
			if f.Key == k && f.Verdict == Within {
				return ""
			}
			if f.Key == k {
				label = cmp.Or(label, f.Label)
			}
		}
	}
	if len(wants) > 0 {
		label = cmp.Or(label, wants[0])
	}
	return label
}
