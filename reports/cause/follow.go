package cause

// Grade is how far the circuit is contaminated.
type Grade int

// The grades.
const (
	NotSeen Grade = iota
	Clean
	Mild
	Severe
)

var gradeWords = [...]string{"not looked at", "none seen", "mild", "severe"}

// String is the grade in words.
func (g Grade) String() string { return gradeWords[g] }

// Grade grades by the worst of what was seen. Oil that looks clear grades nothing
// clean by itself: acid does not show in its colour.
func (e Evidence) Grade() Grade {
	g, ok := e.grade()
	if !ok {
		return NotSeen
	}
	return g
}

func (e Evidence) grade() (Grade, bool) {
	switch {
	case e.Oil == OilBurnt, e.Acid == AcidShown, e.Smell == Yes:
		return Severe, true
	case e.Oil == OilDark, e.Acid == AcidDoubtful:
		return Mild, true
	case e.Oil == OilClear && e.Acid == AcidNone:
		return Clean, true
	}
	return NotSeen, false
}

// Consequence is something that follows, why, and whether opening can still change it.
type Consequence struct {
	Do, Why     string
	Provisional bool
	Days        int // until it is due, after the unit runs again; 0: with the work
}

// follows is what the grade and the kind ask for. Practice of the trade, no source;
// the compressor maker's instructions go before it.
func follows(e Evidence, x Examination) []Consequence {
	if x.Call == NotDead {
		return nil
	}
	practice := "common practice, no source; the compressor's instructions go before it"
	out := []Consequence{{Do: "A new liquid-line drier, rated for at least the unit's capacity in its refrigerant", Why: "the circuit is opened; " + practice}}
	opened := x.Grade != NotSeen
	switch {
	case x.Grade == Severe:
		out = append(out,
			Consequence{Do: "A suction filter-drier that takes up acid, with a port on either side; out again when acid no longer shows, for it costs pressure", Why: "acid or burnt oil was seen; " + practice},
			Consequence{Do: "The liquid-line drier one size larger than the capacity asks for", Why: "it takes up what stays in the lines; " + practice},
			Consequence{Do: "Drain what oil can be drained of lines and accumulator, and measure it", Why: "acid stays in old oil; " + practice},
			Consequence{Do: "Test the oil for acid again", Why: practice, Days: 3},
			Consequence{Do: "Test the oil for acid again, take the suction filter-drier out if none shows", Why: practice, Days: 14})
	case x.Grade == Mild:
		out = append(out,
			Consequence{Do: "A suction filter-drier, out again when acid no longer shows", Why: "the oil is dark or the acid test doubtful; " + practice},
			Consequence{Do: "Test the oil for acid again", Why: practice, Days: 14})
	case !opened && x.p(Grounded)+x.p(ShortedTurns)+x.p(Overheated) > 0.3:
		out = append(out, Consequence{Do: "A suction filter-drier at hand, to be fitted if the oil is dark, burnt or acid", Why: "a burn is likely and the oil was not seen; " + practice, Provisional: true})
	}
	if x.key("debris") == "metal" || x.p(Seized)+x.p(Flooded)+x.p(Worn) > 0.5 {
		out = append(out, Consequence{Do: "Clean or replace strainer and metering device; look for metal in the accumulator", Why: "what broke sheds metal; " + practice, Provisional: x.key("debris") == ""})
	}
	return out
}
