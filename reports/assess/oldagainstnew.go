package assess

import (
	"slices"

	"retrostage/wiring/supply"
)

// judgedBy names the finding that judges what a row of old against new shows. A row
// without one is judged by the comparison itself.
var judgedBy = map[string]string{"wire": "mca_wire", "breaker": "breaker_fit", "contactor-fla": "contactor_fla", "contactor-lra": "contactor_lra",
	"capacitor": "cap_match", "capacitor-volts": "cap_match_volts", "drop": "branch_drop"}

// follow gives the rows the word of the finding that judges the same thing: the
// comparison knows no doubt of a reading, and one question has one answer.
func follow(rows []supply.Row, fs []Finding) []supply.Row {
	out := slices.Clone(rows)
	for i := range out {
		f := judging(out[i].Key, fs)
		if f == nil || out[i].Check == nil {
			continue
		}
		k := *out[i].Check
		switch f.Verdict {
		case Within:
			if k.Outcome == supply.Fits {
				continue // with its own words
			}
			k.Outcome, k.Why = supply.Fits, ""
		case Outside:
			if k.Outcome == supply.Misfit {
				continue
			}
			k.Outcome, k.Why = supply.Misfit, f.Reason
		default:
			k.Outcome, k.Why = supply.Unknown, string(f.Verdict)
			if f.Reason != "" {
				k.Why += ": " + f.Reason
			}
		}
		out[i].Check = &k
	}
	return out
}

// judging is the finding that judges a row; nil if there is none, or none that says
// anything: a comparison that misfits while its finding waits for a reading stands.
func judging(row string, fs []Finding) *Finding {
	for i := range fs {
		if f := &fs[i]; f.Key == judgedBy[row] && f.Verdict != NotMeasured && f.Verdict != NotJudged {
			return f
		}
	}
	return nil
}
