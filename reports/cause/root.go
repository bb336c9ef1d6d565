package cause

import (
	"cmp"
	"fmt"
	"slices"
)

// Root is a condition that can have killed the compressor and would kill the next.
type Root struct {
	Key, Words string
	Evidence   string // what points at it
	Answer     string // the reading that shows it gone
	Strength   float64
}

// roots lists what the evidence points at, strongest first. How strongly is
// judgement, no source. With nothing found it says so: a compressor's death without a
// reason found is answered by readings of the new one's first hours.
func roots(e Evidence, x Examination) []Root {
	var out []Root
	add := func(on bool, r Root) {
		if on {
			out = append(out, r)
		}
	}
	add(x.key("feed") == "low", Root{"voltage", "low supply voltage", fmt.Sprintf("%.0f V where %.0f V are rated", e.Supply, e.Rated), "supply voltage at the unit as the new compressor starts and runs", 3})
	add(x.key("feed") == "absent", Root{"control", "the call or the line does not reach the compressor", "no call, or the contactor does not pass it on", "control voltage under a call, drop across the contactor", 3})
	add(x.key("capacitor") == "failed" || x.key("capacitor") == "weak", Root{"capacitor", "run capacitor below its value", "as measured", "the new capacitor's value under load", 2.5})
	add(e.CoilFouled == Yes, Root{"condenser", "outdoor coil fouled", "as seen", "condensing temperature over outdoor air", 2.5})
	add(x.key("charge") == "low", Root{"leak", "charge lost", fmt.Sprintf("%.0f %% of the plate's charge was recovered", 100*ratio(e.Recovered, e.Plate)), "nitrogen hold, then a leak search with the unit running", 2.5})
	add(x.key("charge") == "high", Root{"overcharge", "too much charge", fmt.Sprintf("%.0f %% of the plate's charge was recovered", 100*ratio(e.Recovered, e.Plate)), "charge weighed in, subcooling or superheat against its target", 2})
	add(x.key("flood") == "signs" || e.HeaterDead == Yes, Root{"liquid", "liquid comes back or gathers in the shell", "as seen", "superheat at the compressor; the crankcase heater's current", 2.5})
	add(e.AirLow == Yes, Root{"air", "too little indoor air", "as seen", "indoor air flow", 2})
	add(e.ShortCycles == Yes, Root{"cycling", "short cycles", "as told", "time delay fitted; starts an hour", 1.5})
	add(e.DrierBlocked == Yes, Root{"drier", "drier or strainer blocked", "as seen", "temperature across the new drier", 2})
	add(x.key("heat") == "signs" && e.CoilFouled != Yes, Root{"heat", "ran hot, reason not found", "as seen", "discharge temperature, condensing temperature over outdoor air, superheat", 1.5})
	add(x.key("age") == "old" && x.Ranking[0].Kind == Worn, Root{"age", "wear by age", "years on the plate", "nothing to remove: say so", 1})
	slices.SortStableFunc(out, func(a, b Root) int { return cmp.Compare(b.Strength, a.Strength) })
	if len(out) == 0 {
		out = append(out, Root{"unknown", "no reason found", "nothing that was looked at points at one", "voltage, current, superheat, subcooling and condensing temperature of the new compressor in its first hour", 0})
	}
	return out
}

func ratio(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}
