package planner

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"retrostage/wiring/netlist"
)

// Acknowledge is the key under which a plan whose proof fails, or is not decided,
// is taken all the same: "yes" gives its work list, which then bears the mark.
const Acknowledge = "acknowledge-failed"

// Asked are the keys of the decisions that a conversion is not done without: only
// a person at the unit can tell. The others follow from the job (indoor-control),
// or nothing is given up by leaving them at their default (omit: the switch
// stays; contactor-poles: as many as before). Not every unit raises each of them: see Questions.
var Asked = []string{"indoor-outputs", "outdoor-sensor", "airflow", "airflow-per-ton", "crankcase-heater", "hard-start", "time-delay"}

// Questions are those of Asked that a unit raises, told by its parts alone: it is
// neither solved nor planned.
func Questions(old *netlist.Unit, target Target) ([]string, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	p := &plan{rulebook: bk, old: old, target: target, r: &Result{}}
	p.findParts()
	if p.indoor == nil {
		return nil, nil
	}
	if err := p.decide(nil); err != nil {
		return nil, err
	}
	var out []string
	for _, d := range p.r.Decisions {
		if slices.Contains(Asked, d.Key) {
			out = append(out, d.Key)
		}
	}
	return out, nil
}

// decide asks the questions and takes the answers. A question with one answer is
// not asked: it is answered.
func (p *plan) decide(given map[string]string) error {
	p.answer = map[string]string{}
	known := map[string]bool{Acknowledge: true}
	var keys []string
	var errs []error
	for _, d := range p.questions(given) {
		known[d.Key] = true
		keys = append(keys, d.Key)
		if err := p.take(d, given); err != nil {
			errs = append(errs, err)
		}
	}
	for k := range given {
		if !known[k] && !slices.Contains(Asked, k) && k != "indoor-control" && k != "contactor-poles" {
			errs = append(errs, fmt.Errorf("%w: %q; there are %s", ErrDecision, k, strings.Join(keys, ", ")))
		}
	}
	slices.SortStableFunc(errs, func(a, b error) int { return strings.Compare(a.Error(), b.Error()) })
	return errors.Join(errs...)
}

// take answers one question, by what is given or by its default.
func (p *plan) take(d Decision, given map[string]string) error {
	d.Chosen = d.Default
	a, ok := given[d.Key]
	if ok {
		free := strings.HasPrefix(d.Key, "omit:")
		fits := slices.ContainsFunc(d.Options, func(o Option) bool { return o.Value == a && o.Value != "reason" })
		if !fits && !free {
			var fit []string
			for _, o := range d.Options {
				fit = append(fit, o.Value)
			}
			return fmt.Errorf("%w: %s = %q; it takes %s", ErrDecision, d.Key, a, strings.Join(fit, ", "))
		}
		if !fits {
			if err := Reason(a); err != nil {
				return fmt.Errorf("%s: %w", d.Key, err)
			}
		}
		d.Chosen, d.Answered = strings.TrimSpace(a), true
	}
	p.answer[d.Key] = d.Chosen
	if len(d.Options) < 2 {
		return nil
	}
	if !ok {
		p.r.Open = append(p.r.Open, d.Key)
	}
	p.r.Decisions = append(p.r.Decisions, d)
	return nil
}

// Reason tells whether text will do as the stated reason for leaving out a safety:
// a line that can be read, of three different words and twelve letters at least,
// that does not begin as an answer that means the opposite.
func Reason(text string) error {
	letters, words := 0, map[string]bool{}
	for w := range strings.FieldsFuncSeq(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) }) {
		letters += utf8.RuneCountInString(w)
		if utf8.RuneCountInString(w) > 1 {
			words[w] = true
		}
	}
	first, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(text)), " ")
	first = strings.TrimFunc(first, func(r rune) bool { return !unicode.IsLetter(r) })
	switch {
	case strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }):
		return fmt.Errorf("%w, on one line that can be read", ErrReason)
	case words["keep"], words["kept"], words["stay"], words["stays"], words["retain"], words["retained"], words["remain"], words["remains"],
		words["never"], words["needed"], forbids(text),
		slices.Contains([]string{"yes", "y", "ok", "leave", "do", "don", "don't", "not", "is", "must"}, first):
		return fmt.Errorf("%w; this may mean that it stays: the answer for that is keep", ErrReason)
	case letters < 12 || len(words) < 3:
		return ErrReason
	}
	return nil
}

// forbids tells whether a text says what is not to be done, or must be.
func forbids(text string) bool {
	t := strings.ToLower(text)
	return slices.ContainsFunc([]string{"do not", "don't", "not to be", "must", "shall", "should not", "cannot be left"}, func(w string) bool { return strings.Contains(t, w) })
}

// questions lists what the plan depends on and does not answer itself.
func (p *plan) questions(given map[string]string) (out []Decision) {
	either := func(v bool, a, b string) string {
		if v {
			return a
		}
		return b
	}
	put := func(key, question, def, source string, options ...Option) {
		out = append(out, Decision{Key: key, Question: question, Default: def, Source: source, Options: options})
	}
	indoor := p.target.Indoor
	if indoor == "" {
		indoor = either(p.isDigital(), "digital", "conventional")
	}
	controls := []Option{{"conventional", "24 V thermostat and terminal strip"}, {"digital", "digital bus indoors, 24 V call to the outdoor unit"}}
	if _, ok := given["indoor-control"]; p.target.Indoor != "" && !ok { // asked elsewhere in the program
		controls = []Option{{indoor, "as the job says"}}
	}
	put("indoor-control", "Which indoor control will call the unit?", indoor, "the job", controls...)
	p.digital = either(given["indoor-control"] != "", given["indoor-control"], indoor) == "digital"
	if p.digital {
		yes := Option{"yes", "yes"}
		if p.indoor.Kind == "indoor-digital-only" {
			yes = Option{"replace", "no, and a digital control that has them takes its place"}
		}
		put("indoor-outputs", "Has the digital indoor control 24 V outputs for a conventional outdoor unit (a terminal Y1 that it can be set to use)?", either(yes.Value == "yes", "yes", "no"), "the indoor control's instructions",
			yes, Option{"no", "no: it speaks to the outdoor unit by data only"})
	}
	sensor := []Option{{"none", "no: the control works without it"}}
	if p.digital && len(p.sensors) > 0 {
		sensor = append(sensor, Option{"wire", "yes: wire the old sensor to the indoor control"})
	}
	put("outdoor-sensor", "Does the indoor control need an outdoor-air sensor of its own, now that no outdoor board reports to it?",
		either(len(sensor) > 1, "wire", "none"), "the indoor control's instructions", sensor...)
	air := []Option{{"setting", "set the control or the blower's Y1 tap to the nominal air"}}
	if !p.digital {
		air = append(air, Option{"jumper", "feed the blower's Y2 input together with Y1"})
	}
	put("airflow", "How does the blower come to the single-stage nominal air on a first-stage call?", "setting", p.Rules["airflow-set"].Source, air...)
	put("airflow-per-ton", "Nominal air per ton of the new compressor, in cfm per ton?", "400", p.Rules["airflow-set"].Source,
		Option{"350", "350, humid climate"}, Option{"375", "375"}, Option{"400", "400, usual"}, Option{"450", "450, dry climate"})
	heater := Option{"keep", "keep one"}
	if len(p.heaters) == 0 {
		heater = Option{"add", "add one"}
	}
	put("crankcase-heater", "Crankcase heater for the new compressor?", either(len(p.heaters) > 0, "keep", "none"), "the new compressor's instructions",
		Option{"none", "the new compressor's instructions ask for none"}, heater)
	return append(out, p.partQuestions(either)...)
}

// partQuestions are those about start parts, delay, contactor and switches.
func (p *plan) partQuestions(either func(bool, string, string) string) (out []Decision) {
	if len(p.comps) > 1 {
		out = append(out, Decision{Key: "circuits", Question: "Do both compressors pump in one refrigerant circuit, with their suction and discharge lines joined?", Default: "one", Source: "what is seen at the unit",
			Options: []Option{{"one", "one circuit, one charge"}, {"two", "a circuit each: two charges"}}})
	}
	start := Option{"add", "start capacitor with a start relay"}
	if len(p.starters) > 0 {
		start = Option{"keep", "keep the start parts that are there: the new compressor's instructions allow them, capacitance and relay as marked"}
	}
	out = append(out, Decision{Key: "hard-start", Question: "Hard-start aid?", Default: either(len(p.starters) > 0, "keep", "none"), Source: "the new compressor's instructions; common practice, no source",
		Caution: p.caution("capacitor"), Options: []Option{{"none", "no: none, and what is there comes out"}, start}})
	delay := Option{"add", "add a time-delay relay, last before the contactor's coil"}
	if len(p.delays) > 0 {
		delay = Option{"keep", "keep the time-delay relay, last before the contactor's coil"}
	}
	out = append(out, Decision{Key: "time-delay", Question: "What holds off a restart (short cycling)?", Source: p.Rules["delay-add"].Source,
		Default: either(len(p.delays) > 0, "keep", either(len(p.boards) > 0, "add", "none")),
		Options: []Option{{"none", "no relay: the thermostat or indoor control holds off a restart"}, delay}})
	if p.onePoleTooSmall() {
		out = append(out, Decision{Key: "contactor-poles", Question: "The contactor is too small for the new compressor and breaks one leg only. What takes its place?", Default: "one", Source: "contact rating against rated-load current, maker's data",
			Options: []Option{{"one", "a larger one-pole contactor: one leg stays live at the compressor, as before"}, {"two", "a two-pole contactor: what lay across the open pole goes to the line side"}}})
	}
	for _, s := range p.interrupters {
		if !slices.ContainsFunc(p.seen.c.Inputs, func(in netlist.Input) bool { return in.Name == s.ID && in.Kind != "delay" }) {
			continue // a fuse or a relay is no question
		}
		question, keep := fmt.Sprintf("Keep the %s?", p.name(s)), "keep it in circuit"
		if p.seen.idle(s.ID) {
			question, keep = fmt.Sprintf("The %s does nothing as entered, open or closed. Is it bypassed?", p.name(s)), "put it back into the string of what stops the compressor"
		}
		out = append(out, Decision{Key: "omit:" + s.ID, Question: question, Default: "keep", Source: "the maker's instructions and the adopted code", Caution: p.caution("safety-omitted"),
			Options: []Option{{"keep", keep}, {"reason", "leave it out, for this stated reason: ..."}}})
	}
	return out
}

// onePoleTooSmall tells whether the only contactor there is breaks one leg and is
// not rated for the new compressor.
func (p *plan) onePoleTooSmall() bool {
	ks := p.contactors
	return len(ks) == 1 && p.poles(ks[0]) == 1 && !p.carries(ks[0])
}
