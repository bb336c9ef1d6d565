package proof

import (
	"context"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// Verdicts of a proof and of each of its checks.
const (
	Holds      = "holds"
	Reserved   = "holds with reservations" // every check holds, and some only by a person's word
	Fails      = "fails"
	NotDecided = "not decided"
)

// Data is what the circuits do not show: the new compressor's plate, what was
// left out or changed and why, and which calls ask for what.
type Data struct {
	Compressor Compressor `json:"compressor"`
	// Omitted gives for a device that was taken out, or stays and is to do nothing
	// any more, the reason that a person stated. A reason of fewer than 12 letters, of
	// one word or of the same few letters is none.
	Omitted map[string]string `json:"omitted,omitempty"`
	// Dropped gives the same for what follows from the plan and nobody stated. It
	// serves for loads, start parts and grounds, and for a switch in the line of a
	// compressor that is gone while another ran on; for what stops the new one, or a
	// load that stays, only Omitted does.
	Dropped map[string]string `json:"dropped,omitempty"`
	// Replaced gives for a device whose name stays the reason why it is another
	// part, or set otherwise: its numbers may differ then.
	Replaced map[string]string `json:"replaced,omitempty"`
	// Extended gives for a load the reason why it is served in more states than it
	// was: a heater that now heats while the compressor runs too. Where it was
	// served it must be.
	Extended map[string]string `json:"extended,omitempty"`
	// Unanswered gives for a device the question about it that only a person can
	// answer, and that nobody has: then nothing is decided.
	Unanswered map[string]string `json:"unanswered,omitempty"`
	// Trusted gives for a device what holds of it by a person's answer alone, and how
	// to see it. The proof names each, and holds with reservations.
	Trusted map[string]string `json:"trusted,omitempty"`
	// Call and Full are the inputs that call the first and the second stage;
	// "cool-1" and "cool-2" if empty.
	Call string `json:"call,omitempty"`
	Full string `json:"full,omitempty"`
	// StartNeedsMore says that the compressor was found not to start on an
	// overcurrent device of 175 %: up to 225 % is then allowed.
	StartNeedsMore bool `json:"start-needs-more,omitempty"`
}

// Compressor is the new compressor's plate, SI. A zero Tolerance is that of the
// wiring rules.
type Compressor struct {
	Volts     float64 `json:"volts"`
	RLA       float64 `json:"rla"`
	LRA       float64 `json:"lra"`
	Farads    float64 `json:"farads"`              // run capacitor
	Tolerance float64 `json:"tolerance,omitempty"` // of Farads, a fraction
	CapVolts  float64 `json:"cap-volts"`           // run capacitor, least rating
	Hertz     float64 `json:"hertz,omitempty"`     // 0: not known
}

// A Proof is what was checked, and in how many ways.
type Proof struct {
	Verdict      string   `json:"verdict"`
	Why          string   `json:"why"`
	States       int      `json:"states"`       // of the outside world, tried
	Combinations int      `json:"combinations"` // that they stand for
	Positions    int      `json:"positions"`    // states times relay positions reached
	Changes      int      `json:"changes"`      // single changes followed
	Faults       int      `json:"faults"`       // contacts opened alone and sources opened, times states
	Suffices     string   `json:"suffices"`     // why the states tried are enough
	Untried      []string `json:"untried"`
	Reservations []string `json:"reservations,omitempty"` // what rests on a person's word
	Checks       []Check  `json:"checks"`
	Live         []Live   `json:"live"`
	Notes        []string `json:"notes"`
	Note         string   `json:"note"`
}

// A Check is one invariant. Unless it holds, State, Path and Detail show the
// first way in which it does not.
type Check struct {
	ID      string   `json:"id"`
	Words   string   `json:"words"`
	Verdict string   `json:"verdict"`
	State   string   `json:"state,omitempty"`
	Path    []string `json:"path,omitempty"`
	Detail  string   `json:"detail,omitempty"`
	Source  string   `json:"source"`
}

// Live is what stays live under an open disconnect.
type Live struct {
	Open      string   `json:"open"`      // the source whose disconnect is open
	From      string   `json:"from"`      // the source that feeds them
	Volts     float64  `json:"volts"`     // the most, to earth or to each other
	Terminals []string `json:"terminals"` // in the cabinet that the open disconnect serves
}

// Check finds a check by its id; nil if there is none.
func (p *Proof) Check(id string) *Check {
	for i := range p.Checks {
		if p.Checks[i].ID == id {
			return &p.Checks[i]
		}
	}
	return nil
}

// Proved tells whether every check holds, with or without reservations.
func (p *Proof) Proved() bool { return p.Verdict == Holds || p.Verdict == Reserved }

// Failed lists the checks that do not hold, failures first.
func (p *Proof) Failed() []Check {
	var out []Check
	for _, v := range []string{Fails, NotDecided} {
		for _, k := range p.Checks {
			if k.Verdict == v {
				out = append(out, k)
			}
		}
	}
	return out
}

// Prove compares the new circuit with the old one. An error means that a circuit
// could not be solved or the data are no data; everything else is a verdict. The
// old unit must be valid; the new one need not be. Progress is called from this
// goroutine.
func Prove(ctx context.Context, old, new *netlist.Unit, data Data, progress func(done, total int)) (*Proof, error) {
	return prove(ctx, old, new, data, progress, usual)
}

func prove(ctx context.Context, old, new *netlist.Unit, data Data, progress func(done, total int), most bounds) (*Proof, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	was, err := purpose.Find(ctx, old)
	if err != nil {
		return nil, err
	}
	j, err := newJudge(bk, was, new, data, most)
	if err != nil {
		return nil, err
	}
	j.progress = progress
	return j.run(ctx)
}
