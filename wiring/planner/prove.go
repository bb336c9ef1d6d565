package planner

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"retrostage/wiring/proof"
)

// Refused is the verdict of a unit that is not planned; the others are those of
// package proof.
const Refused = "refused"

// Check proves the plan against the unit it was made for, and lets its work list
// out if the proof holds or the plan was acknowledged all the same.
func (r *Result) Check(ctx context.Context, progress func(done, total int)) error {
	if r.Refused != "" || r.old == nil {
		return nil
	}
	var err error
	if r.Proof, err = proof.Prove(ctx, r.old, r.New, r.data(), progress); err != nil {
		return err
	}
	r.Verdict, r.Why = r.Proof.Verdict, r.Proof.Why
	r.Tried = fmt.Sprintf("%d states that stand for %d, %d relay positions reached by %d single changes, %d single openings", r.Proof.States, r.Proof.Combinations, r.Proof.Positions, r.Proof.Changes, r.Proof.Faults)
	r.Untried = append(r.Untried, r.Proof.Untried...)
	if r.Verdict == proof.Reserved {
		r.Mark = "THE PROOF RESTS ON A PERSON'S WORD IN PART"
	}
	if !r.Proof.Proved() {
		r.Decisions = append(r.Decisions, Decision{Key: Acknowledge, Question: "The proof of this plan does not hold, or is not decided. Is its work list wanted all the same?", Default: "no", Chosen: map[bool]string{true: "yes", false: "no"}[r.Acknowledged], Answered: r.Acknowledged,
			Source: "the program", Options: []Option{{"no", "no: mend the unit as drawn, or the answers, first"}, {"yes", "yes: I have read what fails, and take it on myself"}}})
		r.Mark = map[string]string{proof.Fails: "THE PROOF OF THIS PLAN FAILS", proof.NotDecided: "THIS PLAN IS NOT PROVED"}[r.Verdict]
	}
	if r.Proved() || r.Acknowledged {
		r.Steps = r.list
	}
	return nil
}

// Proved tells whether every check of the proof holds, with or without reservations.
func (r *Result) Proved() bool { return r.Proof != nil && r.Proof.Proved() }

// data is what the proof takes from the plan: the plate of the new compressor,
// what was left out and why, and which parts are others than before.
func (r *Result) data() proof.Data {
	c := r.Target.Compressor
	d := proof.Data{Compressor: proof.Compressor{Volts: c.Volts, RLA: c.RLA, LRA: c.LRA, Farads: c.Farads, CapVolts: c.CapVolts, Hertz: c.Hertz}, Omitted: map[string]string{}, Dropped: map[string]string{}, Replaced: map[string]string{}, Extended: map[string]string{}}
	ask := func(id, question string) {
		if d.Unanswered == nil {
			d.Unanswered = map[string]string{}
		}
		d.Unanswered[id] = question
	}
	if r.tandem != "" && slices.Contains(r.Open, "circuits") {
		ask(r.tandem, "do both compressors of the old unit pump in one refrigerant circuit? Answer circuits")
	}
	trust := func(id, word string) {
		if d.Trusted == nil {
			d.Trusted = map[string]string{}
		}
		d.Trusted[id] = word
	}
	if r.tandem != "" && !slices.Contains(r.Open, "circuits") {
		trust(r.tandem, "that both compressors pump in one refrigerant circuit is a person's answer: before anything is cut, see that the suction lines of both join, that the discharge lines join, and that the unit has one pair of service valves")
	}
	none := slices.ContainsFunc(r.Decisions, func(q Decision) bool { return q.Key == "time-delay" && q.Chosen == "none" })
	if two := r.heatersKept(); len(two) > 1 && slices.Contains(r.Open, "crankcase-heater") {
		d.Unanswered = map[string]string{two[1]: "the old compressor had more than one heater: do the new compressor's instructions ask for them, and is there a place for each? Answer crankcase-heater"}
	}
	for _, a := range r.Devices {
		if slices.Contains(r.Open, "hard-start") && (strings.HasPrefix(a.Rule, "start-")) {
			ask(a.ID, "do the new compressor's instructions allow, or ask for, a start aid, and of which values? Answer hard-start")
		} else if strings.HasPrefix(a.Rule, "start-") && a.Action != "remove" {
			trust(a.ID, "that the new compressor's instructions allow this start part, of these values, is a person's answer: read them before it is wired")
		}
		if a.Rule == "lowering-keep" && slices.Contains(r.Open, "omit:"+a.ID) {
			ask(a.ID, "opening it ended the old unit's second stage and left the first running; is it to stop all cooling now, or nothing? Answer omit:"+a.ID)
		}
		if a.Rule == "start-out" && a.Action == "remove" && slices.ContainsFunc(r.Decisions, func(q Decision) bool { return q.Key == "hard-start" && q.Chosen == "keep" }) {
			ask(a.ID, "the start parts were to be kept, and this one has no place at the new compressor: say which stays, or answer hard-start with none and fit what the new compressor's instructions ask")
		}
		if a.Action == "remove" && none && (a.Rule == "board-out" || a.Rule == "delay-out") {
			d.Omitted[a.ID] = "answered: the thermostat or indoor control holds off a restart"
		}
		if a.Extended != "" {
			d.Extended[a.ID] = a.Extended
		}
		switch {
		case a.Action == "replace" || a.Action == "set" || a.Action == "add":
			d.Replaced[a.ID] = a.Reason
		case a.Action == "remove" && a.Marked:
			d.Omitted[a.ID] = a.Reason // a person said so
		case a.Rule == "idle-out" && !r.passes[a.ID]: // a load: why it goes only a person can say
		case a.Rule == "heater-out" || a.Rule == "start-out" || a.Rule == "its-compressor-gone" || a.Rule == "idle-out":
			d.Dropped[a.ID] = a.Reason
		}
	}
	return d
}

// heatersKept are the crankcase heaters that go over to the new compressor.
func (r *Result) heatersKept() (ids []string) {
	for _, a := range r.Devices {
		if d := r.New.Device(a.ID); d != nil && d.Kind == "heater-crankcase" && d.Place == "outdoor" && a.Action == "keep" {
			ids = append(ids, a.ID)
		}
	}
	return ids
}

// say tells for which compressor the plan is, and whether anybody named it.
func (t *Target) say() string {
	c := &t.Compressor
	w := fmt.Sprintf("For a new compressor of %.0f V, %.3g A rated load, %.3g A locked rotor, with a run capacitor of %.3g uF, %.0f V at least", c.Volts, c.RLA, c.LRA, 1e6*c.Farads, c.CapVolts)
	if t.Assumed {
		return w + ": ASSUMED in part or whole, for its plate was not entered. With another compressor this plan and its proof say nothing; buy and set nothing by it."
	}
	return w + ", as entered."
}

// Banner is what stands first wherever a plan is shown: the verdict, why, and how
// much was tried.
func (r *Result) Banner() []string {
	switch {
	case r.Refused != "":
		return []string{"REFUSED: " + r.Refused}
	case r.Verdict == "":
		return []string{"NOT PROVED YET: no work list is given before the proof."}
	}
	head := strings.ToUpper(r.Verdict)
	if n := len(r.Omitted); n > 0 {
		var names []string
		for _, o := range r.Omitted {
			names = append(names, o.Label)
		}
		head += fmt.Sprintf(", WITH %d LEFT OUT (%s) for a reason that a person stated and nobody checked", n, strings.Join(names, ", "))
	}
	out := []string{head + ": " + r.Why, r.Target.say(), "Tried: " + r.Tried + "."}
	for _, u := range r.Untried {
		out = append(out, "Not tried: "+u)
	}
	if !r.Proved() {
		if r.Acknowledged {
			out = append(out, "Acknowledged: the work list is given all the same, and every page bears this mark.")
		} else {
			out = append(out, "No work list is given. To have it all the same, answer "+Acknowledge+" with yes.")
		}
	}
	return out
}

func does(status string) string {
	if status == "" {
		return "off"
	}
	return status
}

func abs(x float64) float64 { return max(x, -x) }
