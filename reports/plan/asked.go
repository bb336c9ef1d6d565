package plan

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// mark tells one plan from another: the unit, what the new compressor asks for and
// the answers. It says nothing of the plan itself.
func mark(j *record.Job) string {
	t, _ := Target(j)
	b, err := json.Marshal(struct {
		Unit    json.RawMessage
		Name    string
		Volts   string
		Hertz   string
		Target  any
		Answers map[string]string
		Plate   []string
	}{j.Unit, j.Text(record.OldControls), j.Text(record.RatedVoltage), j.Text(record.RatedFrequency), t, Answers(j), []string{j.Text(record.Breaker), j.Text(record.OldCapRating), j.Text(record.Refrigerant)}})
	if err != nil {
		return ""
	}
	return short(b)
}

// short tells one text from another in sixteen letters.
func short(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:8])
}

// Asks is what the record keeps of a check-out list of its plan: a mark of the plan,
// then a line for each reading that is always to be taken. It stands in the record so
// that everybody who reads it knows what was asked, without making the list, which
// takes seconds.
func Asks(j *record.Job, c *planner.Checkout) string {
	m := mark(j)
	if m == "" || c == nil {
		return ""
	}
	lines := []string{"plan " + m}
	for _, t := range c.Tests {
		if t.Role == "find" {
			lines = append(lines, t.List+" "+TestKey(t).String())
		}
	}
	return strings.Join(lines, "\n")
}

// Standing is how far the check-out of a record is.
type Standing struct {
	Listed    bool // the record has the list of the plan as it is now
	Asked     map[string]int
	Missing   map[string][]record.Key // asked and not taken, by list: planner.Dead, planner.Live
	Misfits   []Metered               // of every reading taken, those out of tolerance
	Elsewhere []Metered               // of a place that the unit as planned does not have
}

// Checkout tells how far the check-out of j is, held against the circuit as planned.
// An error means that there is no such circuit. What it returns is shared.
func Checkout(j *record.Job) (Standing, error) {
	s := Standing{Asked: map[string]int{}, Missing: map[string][]record.Key{}}
	m := mark(j)
	lines := strings.Split(j.Text(record.CheckoutList), "\n")
	s.Listed = lines[0] == "plan "+m
	for _, l := range lines[1:] {
		list, name, _ := strings.Cut(l, " ")
		f, err := record.ByName(name)
		if err != nil || !s.Listed {
			continue
		}
		s.Asked[list]++
		if _, ok := j.Entry(f.Key); !ok {
			s.Missing[list] = append(s.Missing[list], f.Key)
		}
	}
	ms := metered(j)
	if len(ms) == 0 {
		return s, nil
	}
	r, err := judgements.Of(fmt.Sprint(m, ms), func() (judged, error) { return judge(j, ms) })
	s.Misfits, s.Elsewhere = r.misfits, r.elsewhere
	return s, err
}

// judged are readings held against the circuit as planned.
type judged struct{ misfits, elsewhere []Metered }

var judgements memo.Last[judged]

func judge(j *record.Job, ms []Metered) (judged, error) {
	p, err := For(j)
	if err != nil {
		return judged{}, err
	}
	if p.New == nil {
		return judged{elsewhere: ms}, nil
	}
	c, err := netlist.Compile(p.New)
	if err == nil {
		err = expect(c, ms)
	}
	var r judged
	for _, m := range ms {
		switch {
		case m.Elsewhere:
			r.elsewhere = append(r.elsewhere, m)
		case !m.Fits:
			r.misfits = append(r.misfits, m)
		}
	}
	return r, err
}
