package cause

import "slices"

// call says what may be said of the compressor, and why or what is lacking.
func call(e Evidence, x Examination) (Call, []string) {
	if clash, _ := e.Clash(); clash != "" {
		return CannotTell, []string{clash}
	}
	if ok, why := notDead(e, x); ok {
		return NotDead, why
	}
	seen, lacks := final(e, x)
	fault := 1 - x.p(NoFault)
	switch {
	case len(seen) > 0 && fault >= deadAt:
		return Dead, seen
	case len(seen) > 0:
		return CannotTell, append(seen, "what else was found speaks against a failed compressor: settle that first")
	}
	if x.Ranking[0].Kind == NoFault {
		lacks = append(lacks, outside(x)...)
	}
	if len(lacks) == 0 {
		lacks = []string{"nothing final was seen: no reading shows the compressor itself failed"}
	}
	return CannotTell, lacks
}

// notDead is earned by a compressor that ran and pumped, whole and insulated.
func notDead(e Evidence, x Examination) (bool, []string) {
	if x.p(NoFault) < soundAt || e.trial() != "pumps" {
		return false, nil
	}
	paths, ins := x.key("paths"), x.key("insulation")
	if paths != "whole" && paths != "common closed" || !slices.Contains([]string{"below 100", "above"}, ins) {
		return false, nil
	}
	if e.Metal == Yes || x.key("amps") == "above" || x.key("turns") == "low" {
		return false, nil
	}
	why := []string{"it runs, and its pressures part as they should", "its windings have a path each", "its insulation reads 20 megohm or more at 40 °C"}
	return true, append(why, outside(x)...)
}

// outside is what was found beside the compressor that can keep it from running.
func outside(x Examination) (out []string) {
	for _, o := range []string{"feed", "capacitor"} {
		for _, f := range x.Found {
			if f.Observation.Key == o && f.Category.Key != "fine" && f.Category.Key != "good" {
				out = append(out, f.Category.Words+": that alone can keep a sound compressor from running")
			}
		}
	}
	if x.key("paths") == "common closed" {
		out = append(out, "its overload opened and closed again: what made it hot is to be found")
	}
	return out
}

// final is what was seen that no lead, capacitor or meter explains, and what such a
// thing still lacks.
func final(e Evidence, x Examination) (seen, lacks []string) {
	ins := x.key("insulation")
	low := ins == "below 0.1" || ins == "below 0.5"
	switch {
	case low && e.InsulationAgain == Yes:
		seen = append(seen, "insulation below half a megohm, read again at clean, dry terminals with the leads off")
	case low:
		lacks = append(lacks, "insulation is low: recover, take the leads off, clean and dry the terminals, and test again, for a damp terminal or a lead reads the same")
	}
	switch x.key("paths") {
	case "start", "run", "none":
		if e.AtTerminals == Yes {
			seen = append(seen, "a winding has no path, read at the terminals")
		} else {
			lacks = append(lacks, "a winding has no path at the leads: after recovery read at the terminals, for a burnt lead reads the same")
		}
	case "common waited":
		if e.AtTerminals == Yes {
			seen = append(seen, "common has no path with the shell cold, read at the terminals")
		} else {
			lacks = append(lacks, "common has no path with the shell cold: after recovery read at the terminals, for a burnt lead reads the same")
		}
	case "common":
		lacks = append(lacks, "common has no path: let the shell cool to the touch, which can take hours, and read again")
	}
	return finalTried(e, x, seen, lacks)
}

// finalTried are the findings of a trial.
func finalTried(e Evidence, x Examination, seen, lacks []string) ([]string, []string) {
	proper := x.key("capacitor") == "good" || e.TrialGood == Yes
	switch x.key("try") {
	case "hums good":
		seen = append(seen, "locked with a good capacitor, the right voltage and help to start")
	case "hums":
		lacks = append(lacks, "it hums: try again with a good capacitor, the right voltage and help to start")
	case "no pump":
		if x.key("charge") == "right" || x.key("charge") == "high" || e.Metal == Yes {
			seen = append(seen, "it runs and does not pump, with refrigerant enough to pump")
		} else {
			lacks = append(lacks, "it runs and does not pump: weigh the charge, for an empty circuit does the same")
		}
	case "then trips":
		if x.key("contamination") == "severe" {
			seen = append(seen, "it trips within minutes, and its oil is burnt or acid")
		} else {
			lacks = append(lacks, "it runs and trips: look at the outdoor coil and fan, the voltage under load and the charge first")
		}
	}
	if x.key("turns") == "low" && (x.key("amps") == "above" || x.key("try") == "trips") && proper {
		seen = append(seen, "a winding is below its data, and it draws more than its locked-rotor current or trips at once")
	} else if x.key("turns") == "low" {
		lacks = append(lacks, "a winding is below its data: read again with the leads zeroed and the shell's temperature taken")
	}
	return seen, lacks
}
