package proof

import (
	"math/cmplx"
	"regexp"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// The work list calls a part by its name. What a name says of the stage, or of which of
// two compressors the part is, is held against what the part does in the old circuit:
// one that leaves under a name that stays would be taken out in the other's place.

var (
	saysFirst  = regexp.MustCompile(`(?i)\b(low|first|1st)[- ](speed|stage|capacity)\b`)
	saysSecond = regexp.MustCompile(`(?i)\b(high|second|2nd|full)[- ](speed|stage|capacity)\b`)
)

// namedApart asks about names that another part's work belongs to.
func (j *judge) namedApart() {
	j.namedStage()
	j.namedCompressor()
}

// misnamed asks about a name, or reserves it if a person states that it is one and
// nothing else.
func (j *judge) misnamed(d *netlist.Device, format string, a ...any) {
	if d.NameOnly {
		j.reserve(format+"; it is taken for a name and nothing else, as a person states", a...)
		return
	}
	j.doubt(format+": which is right? Compare with the unit, and call the part by what it does", a...)
}

// namedStage holds names of a stage against when the part works: on a first call, or on
// a full one alone.
func (j *judge) namedStage() {
	if j.oldFull < 0 {
		return
	}
	first, err := j.so.Solve(set(set(j.old.Rest(), j.oldCall, true), j.oldFull, false))
	if err != nil {
		return
	}
	low := j.acting(first)
	second, err := j.so.Solve(set(set(j.old.Rest(), j.oldCall, true), j.oldFull, true))
	if err != nil {
		return
	}
	full := j.acting(second)
	for i := range j.old.Unit.Devices {
		d := &j.old.Unit.Devices[i]
		name := label(j.old, d.ID)
		switch a, b := saysFirst.MatchString(d.Label), saysSecond.MatchString(d.Label); {
		case a == b:
		case a && full[d.ID] && !low[d.ID]:
			j.misnamed(d, "%s works on the second stage's call alone, and its name is one of the first", name)
		case b && low[d.ID]:
			j.misnamed(d, "%s works on the first stage's call, and its name is one of the second", name)
		}
	}
}

// acting are the relays and contactors that are drawn in a solution of the old circuit,
// and the capacitors that carry a motor's current.
func (j *judge) acting(x *netlist.Solution) map[string]bool {
	out := map[string]bool{}
	for i := range j.old.Coils {
		if in, _ := x.Drawn(i); in {
			out[j.old.Coils[i].Device] = true
		}
	}
	for i := range j.old.Branches {
		br := &j.old.Branches[i]
		if d := j.old.Unit.Device(br.Device); d != nil && strings.HasPrefix(d.Kind, "capacitor") && cmplx.Abs(x.Current(i)) > j.Limits.IdleAmps {
			out[d.ID] = true
		}
	}
	return out
}

// namedCompressor holds a name that says of which compressor the part is against which
// compressor it stops, by its contact or as its run capacitor.
func (j *judge) namedCompressor() {
	names := map[string]string{} // per compressor: what tells it from the others
	for _, l := range j.oldComps {
		names[l.Device] = ordinalOf(label(j.old, l.Device))
	}
	if len(names) < 2 {
		return
	}
	for i := range j.old.Unit.Devices {
		d := &j.old.Unit.Devices[i]
		says := ordinalOf(d.Label)
		if says == "" || names[d.ID] != "" || !saysCompressor.MatchString(d.Label) {
			continue
		}
		if of := j.worksFor(d.ID); len(of) == 1 && names[of[0]] != "" && names[of[0]] != says {
			j.misnamed(d, "the name of %s is one of another compressor than %s, which is what it works for", label(j.old, d.ID), label(j.old, of[0]))
		}
	}
}

// worksFor are the compressors of the old circuit that a part's contacts stop, or whose
// start lead it lies on.
func (j *judge) worksFor(id string) (out []string) {
	for _, in := range j.was.Interrupters {
		for _, s := range in.Stops {
			if in.Device == id && s.Kind == "compressor" && !slices.Contains(out, s.Load) {
				out = append(out, s.Load)
			}
		}
	}
	is := wires(j.old, func(*netlist.Branch) bool { return true })
	for i := range j.old.Branches {
		br := &j.old.Branches[i]
		if br.Device != id || br.Kind != netlist.LoadBranch {
			continue
		}
		a, b := br.Nodes()
		for _, m := range motorsOf(j.old) {
			s, _ := j.old.Branches[m.start].Nodes()
			if isOne := slices.ContainsFunc(j.oldComps, func(l purpose.Load) bool { return l.Device == m.device }); isOne && (is.same(a, s) || is.same(b, s)) && !slices.Contains(out, m.device) {
				out = append(out, m.device)
			}
		}
	}
	return out
}

var ordinals = regexp.MustCompile(`\b([AB]|(?i:1|2|3|one|two|three|first|second|third|1st|2nd|3rd|left|right|upper|lower|front|rear|top|bottom))\b`)

// ordinalOf is the word of a name that tells one of several from the others; "" if there
// is none, or more than one.
func ordinalOf(name string) string {
	same := map[string]string{"one": "1", "first": "1", "1st": "1", "two": "2", "second": "2", "2nd": "2", "three": "3", "third": "3", "3rd": "3"}
	found := ordinals.FindAllString(name, -1)
	if len(found) != 1 {
		return ""
	}
	word := strings.ToLower(found[0])
	if s := same[word]; s != "" {
		return s
	}
	return word
}
