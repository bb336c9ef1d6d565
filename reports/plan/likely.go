package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"

	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// Likely is a unit of the catalogue, what it is told by, and what of the job speaks for
// it or against it.
type Likely struct {
	Name, Title string
	Tells       []string // what is seen at it, that which fewest others have first
	For         []string
	Against     []string

	score float64
}

// seen is what is seen of a kind of device at a unit that has it.
var seen = map[string]string{
	"compressor-two-capacity": "one compressor with a 24 V solenoid in it", "compressor-two-speed": "one compressor of two speeds", "compressor-single": "two compressors",
	"board-two-stage": "24 V board outdoors", "board-digital": "data board outdoors", "fan-ecm-taps": "outdoor fan motor with 24 V speed taps", "fan-cycling": "switch that cycles the outdoor fan",
	"fan-two-speed": "outdoor fan of two speeds", "monitor": "monitor module with a contact", "start-ptc": "start thermistor", "lockout-relay": "lockout relay", "start-relay": "start capacitor with potential relay",
	"overload-line": "overload in each compressor's common", "pressure-high-line": "pressure switches in the line", "time-delay": "time delay between the compressors",
	"capacitor-dual": "one dual capacitor",
}

// stagingOf is how a unit makes its stages, by its compressor.
var stagingOf = map[string]string{"compressor-two-capacity": record.StagingSolenoid, "compressor-two-speed": record.StagingTwoSpeed, "compressor-single": record.StagingTwo}

// profile is a unit of the catalogue as it is looked at.
type profile struct {
	name, title, staging, control string
	poles                         []string // of the compressor contactors
	tells                         []string
	rare                          float64 // how many of its parts few others have
}

// profileOf looks at a unit as drawn.
func profileOf(u *netlist.Unit) profile {
	p := profile{title: u.Title, control: record.ControlConventional}
	indoors, transformer := false, ""
	for _, d := range u.Devices {
		if s := stagingOf[d.Kind]; s != "" {
			p.staging = s
		}
		switch {
		case strings.HasPrefix(d.Kind, "contactor-"):
			p.poles = append(p.poles, strings.TrimSuffix(strings.TrimPrefix(d.Kind, "contactor-"), "p"))
		case d.Kind == "indoor-digital":
			p.control = record.ControlDigital
		case d.Kind == "supply-120":
			indoors = true
		case d.Kind == "transformer":
			transformer = d.Place
		case d.Kind == "switch":
			p.tells = append(p.tells, d.Label)
		}
		if w := seen[d.Kind]; w != "" && !slices.Contains(p.tells, w) {
			p.tells = append(p.tells, w)
		}
	}
	switch {
	case !indoors:
		p.tells = append(p.tells, "all in one cabinet")
	case transformer == "outdoor":
		p.tells = append(p.tells, "24 V transformer outdoors")
	}
	switch len(p.poles) {
	case 1:
		p.tells = append(p.tells, fmt.Sprintf("one contactor of %s pole", p.poles[0])+map[bool]string{true: "s"}[p.poles[0] != "1"])
	default:
		p.tells = append(p.tells, fmt.Sprintf("%d contactors", len(p.poles)))
	}
	return p
}

var profiles = sync.OnceValues(func() (out []profile, err error) {
	had := map[string]int{}
	for _, n := range netlist.Catalogue() {
		u, err := netlist.Load(n)
		if err != nil {
			return nil, err
		}
		p := profileOf(u)
		p.name = n
		for _, w := range p.tells {
			had[w]++
		}
		out = append(out, p)
	}
	for i := range out {
		slices.SortStableFunc(out[i].tells, func(a, b string) int { return cmp.Compare(had[a], had[b]) })
		for _, w := range out[i].tells {
			if had[w] <= 2 {
				out[i].rare++
			}
		}
	}
	return out, nil
})

// A trait is one thing that Intake says of the unit at hand, as one of the catalogue has it.
type trait struct {
	entered     string
	fits        bool
	weight      float64
	contradicts string // said of a drawing that has it otherwise; "" if a drawing may
	key         record.Key
}

// traits holds Intake against a unit of the catalogue; what is not entered is none.
func (p *profile) traits(j *record.Job) (out []trait) {
	known := func(k record.Key) (string, bool) { s := j.Text(k); return s, s != "" && s != "not known" }
	if s, ok := known(record.Staging); ok && p.staging != "" {
		out = append(out, trait{s, s == p.staging, 4, "Intake says that it stages by " + s + ", the drawing by " + p.staging, record.Staging})
	}
	if s, ok := known(record.IndoorControl); ok { // the one to come: another than drawn contradicts nothing
		out = append(out, trait{s, s == p.control, 2, "", record.IndoorControl})
	}
	if n, ok := known(record.OldPoles); ok && len(p.poles) > 0 {
		is := strings.Join(p.poles, " and ")
		out = append(out, trait{"contactor of " + n + " poles", slices.Contains(p.poles, n), 0.1, "Intake says a contactor of " + n + " poles, the drawing has " + is, record.OldPoles})
	}
	return out
}

// Likeliest lists the units of the catalogue, the likeliest for a job first: by how it
// stages, its indoor control and its contactor's poles as entered. A part that few units
// have, and of which nothing is entered, counts against one more than another contactor,
// which is changed by a touch. Nothing is left out.
func Likeliest(j *record.Job) ([]Likely, error) {
	ps, err := profiles()
	if err != nil {
		return nil, err
	}
	var out []Likely
	for _, p := range ps {
		l := Likely{Name: p.name, Title: p.title, Tells: p.tells, score: -0.25 * p.rare}
		for _, t := range p.traits(j) {
			if t.fits {
				l.score += t.weight
				l.For = append(l.For, t.entered)
			} else {
				l.score -= t.weight
				l.Against = append(l.Against, "entered: "+t.entered)
			}
		}
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, b Likely) int { return cmp.Compare(b.score, a.score) })
	return out, nil
}

// Contradiction is one thing that Intake has otherwise than the drawing: in words, and the
// entry that says so.
type Contradiction struct {
	Words string
	Key   record.Key
}

// Contradicts says in what the drawing of a job, the catalogue's or as it was changed, is
// another unit than Intake has it.
func Contradicts(j *record.Job) (out []string) {
	for _, c := range Contradictions(j) {
		out = append(out, c.Words)
	}
	return out
}

// Contradictions is Contradicts with what to put right.
func Contradictions(j *record.Job) (out []Contradiction) {
	if j.Text(record.OldControls) == "" && len(j.Unit) == 0 || j.Text(record.Staging) == "" && j.Text(record.OldPoles) == "" {
		return nil // nothing to compare: no drawing need be read for a job just begun
	}
	p, err := looks.Of(j.Text(record.OldControls)+" "+string(j.Unit), func() (profile, error) {
		u, err := Drawn(j)
		if err != nil {
			return profile{}, err
		}
		return profileOf(u), nil
	})
	if err != nil {
		return nil
	}
	for _, t := range p.traits(j) {
		if !t.fits && t.contradicts != "" {
			out = append(out, Contradiction{t.contradicts, t.key})
		}
	}
	return out
}

var looks memo.Last[profile]
