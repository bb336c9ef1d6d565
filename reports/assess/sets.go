package assess

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/units"
)

// A check is repeated: readings are taken, something is done to the unit, readings are
// taken again. A set is what was read between two such changes. Closing one is an entry
// that says what is done next; what was read before it no longer stands for the unit,
// so far as the change can move it.

// Set is one set of readings and what came of it.
type Set struct {
	Number int        `json:"number"`         // from 1
	Done   string     `json:"done,omitempty"` // what was done after it; "" for the one at hand
	Detail string     `json:"detail,omitempty"`
	By     string     `json:"by,omitempty"`
	At     string     `json:"at,omitempty"` // when it was closed
	Handed bool       `json:"handed"`       // chosen as the one that is handed over
	Values []SetValue `json:"values"`
	Cycle  *Cycle     `json:"-"`
	used   bool       // its readings are those that the findings take
}

// SetValue is a finding in one set, SI.
type SetValue struct {
	Key      string          `json:"key"`
	Label    string          `json:"label"`
	Dim      units.Dimension `json:"dimension"`
	Measured bool            `json:"measured"`
	Value    float64         `json:"value"`
	U        float64         `json:"u"` // expanded
	Verdict  Verdict         `json:"verdict"`
	Moved    Move            `json:"moved,omitempty"` // since the set before in which it was measured
}

// Move is how a value went from one set to the next.
type Move string

// The ways. A value that moved less than the doubt of both sets together is not said to
// have moved, nor to have stayed.
const (
	Up       Move = "up"
	Down     Move = "down"
	NotShown Move = "no change shown"
)

// span is a set as the record has it.
type span struct {
	from, to int // entries from (inclusive) to (exclusive); to is the closing entry, or the end
	closed   *record.Entry
	done     []string // what was done after it: more than one thing where nothing was read between
	detail   string
}

// stays lists what a change leaves as it was; all else is to be read again after it.
// The standing pressure tells what stands in the unit, which no change but an unknown
// one alters; air is not moved by the charge or by the outdoor coil.
var (
	stood = []record.Key{record.RestPressure, record.RestTemp}
	blown = []record.Key{record.Airflow, record.StaticReturn, record.StaticSupply, record.StaticBefore}
	stays = map[string][]record.Key{
		record.SetChargeIn: slices.Concat(stood, blown), record.SetChargeOut: slices.Concat(stood, blown), record.SetOutdoor: slices.Concat(stood, blown),
		record.SetAir: stood, record.SetIndoor: stood, record.SetAgain: slices.Concat(stood, blown), record.SetOther: nil,
	}
)

// inSet are the readings that belong to a set: those of the running unit.
var inSet = func() map[record.Key]bool {
	m := map[record.Key]bool{record.SettleTime: true, record.RunCurrent: true, record.InputPower: true}
	for _, f := range record.Of(record.Running) {
		if f.Kind == record.Number && f.Origin == record.Measured {
			m[f.Key] = true
		}
	}
	return m
}()

// spans are the sets of a job, oldest first. One that was closed without a reading of
// its own only says anew what was done; the last may hold no reading yet.
func spans(j *record.Job) (out []span) {
	at := span{}
	read := false
	for i := range j.Entries {
		e := &j.Entries[i]
		switch {
		case e.Key == record.SetDetail:
			at.detail = e.Value
		case inSet[e.Key] && e.Value != "":
			read = true
		case e.Key == record.SetDone && e.Value != "":
			at.to, at.closed, at.done = i, e, []string{e.Value}
			if read {
				out = append(out, at)
			} else if n := len(out); n > 0 {
				// A further thing done; that nothing was done takes none of them back.
				l := &out[n-1]
				switch {
				case e.Value == record.SetAgain:
				case l.done[len(l.done)-1] == record.SetAgain:
					l.done[len(l.done)-1] = e.Value
					l.closed, l.to = e, i
				default:
					l.done = append(l.done, e.Value)
					l.closed, l.to = e, i
				}
				l.detail = strings.TrimPrefix(strings.Join([]string{l.detail, at.detail}, "; "), "; ")
				l.detail = strings.TrimSuffix(l.detail, "; ")
			}
			at, read = span{from: i + 1}, false
		case e.Key == record.SetDone && !read && len(out) > 0: // cleared before anything was read: it was not done
			at, read = out[len(out)-1], true
			at.closed, at.done = nil, nil
			out = out[:len(out)-1]
		}
	}
	at.to = len(j.Entries)
	if !read && len(out) > 0 && slices.Equal(out[len(out)-1].done, []string{record.SetAgain}) {
		return out // nothing was changed and nothing read since: what was read stands
	}
	return append(out, at)
}

// use lets the readings of set i stand for the unit.
func (c *context) use(i int) {
	c.set = i
	s := c.spans[i]
	c.read1 = c.job
	if s.closed != nil {
		c.read1 = c.job.Before(s.to)
	}
}

// handed is the set chosen to be handed over; ok is false where none is, or none of
// that number.
func (c *context) handed() (i int, ok bool) {
	n, err := strconv.Atoi(c.job.Text(record.HandedSet))
	return n - 1, err == nil && n >= 1 && n <= len(c.spans)
}

// stale is what was done since a reading that belongs to sets was taken, "" if it
// stands.
func (c *context) stale(key record.Key) string {
	if len(c.spans) < 2 || !inSet[key] {
		return ""
	}
	at, ok := c.read1.Index(key)
	if !ok {
		return ""
	}
	return c.since(at, key)
}

// since is the first change between entry at and the set in use that moves a reading.
func (c *context) since(at int, key record.Key) string {
	for _, s := range c.spans[:c.set] {
		for _, done := range s.done {
			if s.to >= at && !slices.Contains(stays[done], key) {
				return done
			}
		}
	}
	return ""
}

// shownOfSets are the findings that stand side by side.
var shownOfSets = []string{"evaporating", "condensing", "superheat", "superheat_error", "subcooling", "condensing_over_ambient", "temp_split", "split_error", "pressure_ratio",
	"discharge_temp_line", "airflow_per_ton", "external_static", "filter_drop", "power_drawn", "capacity_refrigerant", "capacity_air", "delivered", "run_current"}

// sets are the sets of the job side by side, nil while there is one.
func (c *context) sets() ([]Set, error) {
	if len(c.spans) < 2 {
		return nil, nil
	}
	chosen, ok := c.handed()
	var out []Set
	for i, s := range c.spans {
		past, err := newContext(c.job)
		if err != nil {
			return nil, err
		}
		past.use(i)
		x := Set{Number: i + 1, Detail: s.detail, Handed: ok && i == chosen, Values: []SetValue{}, Cycle: past.cycle(), used: i == c.set}
		if s.closed != nil {
			x.Done, x.By, x.At = strings.Join(s.done, "; "), s.closed.By, s.closed.Time.Format("2006-01-02 15:04 -07:00")
		}
		for _, d := range definitions {
			if !slices.Contains(shownOfSets, d.key) || d.applies != nil && !d.applies(past) {
				continue
			}
			f, err := past.find(d)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", d.key, err)
			}
			x.Values = append(x.Values, SetValue{Key: f.Key, Label: f.Label, Dim: f.Dim, Measured: f.Measured, Value: f.Value, U: f.Expanded(), Verdict: f.Verdict})
		}
		out = append(out, x)
	}
	for i := range out {
		for k := range out[i].Values {
			if i > 0 {
				out[i].Values[k].Moved = movedSince(out[:i], out[i].Values[k])
			}
		}
	}
	return out, nil
}

// movedSince holds a value against the last set before in which it was measured. The doubts
// of both count in full: what one instrument has in common with itself is not taken off.
func movedSince(before []Set, v SetValue) Move {
	if !v.Measured {
		return ""
	}
	for _, s := range slices.Backward(before) {
		for _, w := range s.Values {
			if w.Key != v.Key || !w.Measured {
				continue
			}
			switch d := v.Value - w.Value; {
			case d > uncertainty.Combine(v.U, w.U):
				return Up
			case -d > uncertainty.Combine(v.U, w.U):
				return Down
			}
			return NotShown
		}
	}
	return ""
}

// setMatters is what stands against the choice of a set.
func (c *context) setMatters() (out []Matter) {
	s := record.Running
	typed := c.job.Text(record.HandedSet)
	if len(c.spans) < 2 && typed == "" {
		return nil
	}
	label := record.HandedSet.Label()
	say := func(stand Stand, why string) {
		m := c.matter(stand, s, record.HandedSet.String(), label, why)
		m.live = true
		out = append(out, m)
	}
	i, ok := c.handed()
	switch {
	case typed == "":
		say(IsMissing, fmt.Sprintf("choose one of the %d sets of readings", len(c.spans)))
	case !ok:
		say(IsOutside, fmt.Sprintf("there is no set %s: there are %d", typed, len(c.spans)))
	default:
		var done []string
		for _, x := range c.spans[i:] {
			for _, d := range x.done {
				if d != record.SetAgain {
					done = append(done, d)
				}
			}
		}
		if len(done) > 0 {
			say(IsOutside, fmt.Sprintf("set %d is of the unit as it was before: %s", i+1, strings.Join(done, ", ")))
		}
	}
	return append(out, c.unweighed()...)
}

// unweighed is refrigerant that went in or out after a set and of which nobody says how
// much: neither a figure in what was done, nor a total or a trim step entered since the set was read.
func (c *context) unweighed() (out []Matter) {
	for i, x := range c.spans {
		moved := slices.ContainsFunc(x.done, func(d string) bool { return d == record.SetChargeIn || d == record.SetChargeOut })
		if !moved || strings.ContainsAny(x.detail, "0123456789") {
			continue
		}
		read := x.from // the last reading of the set
		for k := x.from; k < x.to && k < len(c.job.Entries); k++ {
			if e := c.job.Entries[k]; inSet[e.Key] && e.Value != "" {
				read = k
			}
		}
		weighed := slices.ContainsFunc(c.job.Entries[read:], func(e record.Entry) bool {
			return (e.Key == record.Trimmed || e.Key == record.WeighedIn || e.Key == record.TrimSteps) && e.Value != ""
		})
		if !weighed {
			out = append(out, c.matter(IsMissing, record.Running, record.Trimmed.String(), record.Trimmed.Label(),
				fmt.Sprintf("after set %d: %s; enter how much", i+1, strings.Join(x.done, ", "))))
		}
	}
	return out
}

// ToReadAgain are the readings of a job that something done to the unit has outdated,
// with what was done.
func ToReadAgain(j *record.Job) map[record.Key]string {
	c := &context{job: j, spans: spans(j)}
	if len(c.spans) < 2 {
		return nil
	}
	c.use(len(c.spans) - 1)
	if i, ok := c.handed(); ok {
		c.use(i)
	}
	out := map[record.Key]string{}
	for key := range inSet {
		if w := c.stale(key); w != "" {
			out[key] = w
		}
	}
	return out
}

const again = " (again: "

// takeAgain marks a label of a reading that a change has outdated.
func (c *context) takeAgain(key record.Key, label string) string {
	if w := c.stale(key); w != "" {
		return label + again + w + ")"
	}
	return label
}
