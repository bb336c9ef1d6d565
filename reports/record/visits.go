package record

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"retrostage/thermo/units"
)

// VisitKinds are what people come to a job for, in the order in which they mostly do.
var VisitKinds = []string{VisitDiagnosis, VisitOrdered, VisitReceived, "opened", "fitted", VisitSecondOpening, "cold-day return", "callback", "one-year look"}

// Visits in which no new part is at hand yet.
const (
	VisitDiagnosis = "diagnosis"
	VisitOrdered   = "parts ordered"
	VisitReceived  = "parts received"
)

// VisitSecondOpening is one in which a circuit that was closed is opened again.
const VisitSecondOpening = "second opening"

// Visit is one coming to a job. Its name stands beside every entry that was made in
// it, on whatever tablet, so that what arrives late is still of its own visit.
type Visit struct {
	Name   string // as the entry that began it has it; "" for what came before any
	Kind   string
	Date   string
	Person string
}

// maxVisit bounds the name of a visit, in bytes.
const maxVisit = 200

// readVisit reads a visit's name: date, kind and person with semicolons between.
func readVisit(name string) (v Visit, err error) {
	parts := strings.SplitN(name, "; ", 3)
	if len(name) > maxVisit || len(parts) != 3 || strings.ContainsAny(name, "\r\n") {
		return v, fmt.Errorf("%.60q is no visit: date; kind; person", name)
	}
	v = Visit{name, parts[1], parts[0], parts[2]}
	if _, err := time.Parse(time.DateOnly, v.Date); err != nil {
		return v, fmt.Errorf("%q is no day of a visit", v.Date)
	}
	if !slices.Contains(VisitKinds, v.Kind) {
		return v, fmt.Errorf("%q is no kind of visit: %s", v.Kind, strings.Join(VisitKinds, ", "))
	}
	if strings.TrimSpace(v.Person) == "" {
		return v, errors.New("a visit has a person")
	}
	return v, nil
}

// Visit is the one that is going on; ok is false where none was begun.
func (j *Job) Visit() (v Visit, ok bool) {
	v, err := readVisit(j.Text(VisitNow))
	return v, err == nil
}

// Visits are all of them, the first begun first. What was entered before any was begun
// is a visit without a name.
func (j *Job) Visits() (vs []Visit) {
	if slices.ContainsFunc(j.Entries, func(e Entry) bool { return e.Visit == "" && e.Key != VisitNow }) {
		vs = append(vs, Visit{})
	}
	for _, e := range j.Entries {
		if v, err := readVisit(e.Value); e.Key == VisitNow && err == nil && !slices.Contains(vs, v) {
			vs = append(vs, v)
		}
	}
	return vs
}

// BeginVisit begins one: what is entered from here on is of it.
func (j *Job) BeginVisit(kind, date, person string, now time.Time) error {
	v, err := readVisit(strings.Join([]string{strings.TrimSpace(date), kind, strings.TrimSpace(person)}, "; "))
	if err != nil {
		return err
	}
	if slices.ContainsFunc(j.Visits(), func(o Visit) bool { return o.Name == v.Name }) {
		return errors.New("there is such a visit on that day already")
	}
	return j.Set(Entry{Key: VisitNow, Value: v.Name, Time: now, By: strings.TrimSpace(person)})
}

// Set is work that a later visit can do again, its readings a set of their own.
type Set struct {
	Name   string
	fields func(f Field) bool
}

func group(s Step, groups ...string) func(Field) bool {
	return func(f Field) bool { return f.Step == s && slices.Contains(groups, f.Group) }
}

// Sets are the parts of the work that are done again as a whole or not at all.
var Sets = []Set{
	{"recovery", func(f Field) bool { return group(CloseUp, "Recovery")(f) || f.Key == Recovered }},
	{"brazing and pressure test", group(CloseUp, "Brazing", "Pressure test")},
	{"vacuum", group(CloseUp, "Vacuum")},
	{"weigh-in", func(f Field) bool { return group(Charge, "Weighed", "Trim", "First start")(f) && f.Key != Recovered }},
	{"label", func(f Field) bool { return group(Charge, "Label")(f) || f.Key == LabelDone }},
	{"running check", func(f Field) bool { return f.Step == Running && f.Origin == Measured && f.Kind == Number }},
}

// Fields are those of the set.
func (s Set) Fields() (fs []Field) {
	for _, f := range Fields {
		if s.fields(f) {
			fs = append(fs, f)
		}
	}
	return fs
}

// SetOf is a set by its name.
func SetOf(name string) (Set, error) {
	for _, s := range Sets {
		if s.Name == name {
			return s, nil
		}
	}
	return Set{}, fmt.Errorf("%q is nothing that is done again as a set", name)
}

// Again begins a set anew in this visit: what an earlier visit read is cleared, so that
// no reading of then is judged with one of now, and stays readable (Earlier). A log of
// the set is of its visit and goes with it into the history. n is how many fields were
// cleared.
func (j *Job) Again(set, by string, now time.Time) (n int, err error) {
	s, err := SetOf(set)
	if err != nil {
		return 0, err
	}
	v, ok := j.Visit()
	if !ok {
		return 0, errors.New("begin a visit first: what stands here would be lost to it")
	}
	for _, f := range s.Fields() {
		e, there := j.Entry(f.Key)
		if !there || e.Visit == v.Name {
			continue
		}
		if err := j.Set(Entry{Key: f.Key, Time: now, By: by}); err != nil {
			return n, err
		}
		n++
	}
	if n == 0 {
		return 0, fmt.Errorf("nothing of an earlier visit stands in %s", s.Name)
	}
	return n, nil
}

// Reading is a field as a visit left it.
type Reading struct {
	Field Field
	Entry Entry
}

// Earlier is what the visits before this one left in a set, by visit, the first first.
func (j *Job) Earlier(s Set) (vs []Visit, of map[string][]Reading) {
	now, _ := j.Visit()
	of = map[string][]Reading{}
	for _, v := range j.Visits() {
		if v.Name == now.Name {
			continue
		}
		for _, f := range s.Fields() {
			if e, ok := j.lastOf(v.Name, f.Key); ok {
				of[v.Name] = append(of[v.Name], Reading{f, e})
			}
		}
		if len(of[v.Name]) > 0 {
			vs = append(vs, v)
		}
	}
	return vs, of
}

// lastOf is what a visit left in a field; ok is false where that is nothing.
func (j *Job) lastOf(visit string, key Key) (last Entry, ok bool) {
	for _, e := range j.Entries {
		if e.Key == key && e.Visit == visit {
			last, ok = e, e.Value != ""
		}
	}
	return last, ok
}

// Change is a running reading beside the one of the visit that is the baseline.
type Change struct {
	Field Field
	Was   Entry
	Now   Entry  // without a value where it was not read in this visit
	By    string // what it changed by, in the unit of now; "" where that cannot be said
}

// Baseline is the newest earlier visit that left running readings, and how those of this
// visit differ from them. Nothing is judged: weather and charge differ too.
func (j *Job) Baseline() (base Visit, cs []Change) {
	s, err := SetOf("running check")
	if err != nil {
		return base, nil
	}
	vs, of := j.Earlier(s)
	if len(vs) == 0 {
		return base, nil
	}
	base = vs[len(vs)-1]
	now, _ := j.Visit()
	for _, r := range of[base.Name] {
		c := Change{Field: r.Field, Was: r.Entry}
		if e, ok := j.lastOf(now.Name, r.Field.Key); ok {
			c.Now = e
			c.By = changed(r.Field, r.Entry, e)
		}
		cs = append(cs, c)
	}
	return base, cs
}

// changed is the difference of two numbers typed in one unit.
func changed(f Field, was, now Entry) string {
	a, err1 := units.Number(was.Value)
	b, err2 := units.Number(now.Value)
	if was.Unit != now.Unit || err1 != nil || err2 != nil {
		return ""
	}
	return fmt.Sprintf("%+.4g", b-a)
}

// Mixed are the readings of an earlier visit that stand in a set beside readings of this
// one: of the running check, the vacuum and the pressure test, whose readings are judged
// together.
func (j *Job) Mixed() (ks []Key) {
	now, ok := j.Visit()
	if !ok {
		return nil
	}
	for _, name := range []string{"running check", "vacuum", "brazing and pressure test"} {
		s, err := SetOf(name)
		if err != nil {
			continue
		}
		var old []Key
		fresh := false
		for _, f := range s.Fields() {
			e, there := j.Entry(f.Key)
			switch {
			case !there || f.Kind != Number:
			case e.Visit == now.Name:
				fresh = true
			default:
				old = append(old, f.Key)
			}
		}
		if fresh {
			ks = append(ks, old...)
		}
	}
	return ks
}

// NotYet tells what a field cannot be known before, in this visit; "" where it can.
// It stays open: it is only not asked for now.
func (j *Job) NotYet(key Key) string {
	v, ok := j.Visit()
	if !ok || v.Kind != VisitDiagnosis && v.Kind != VisitOrdered && v.Kind != VisitReceived {
		return ""
	}
	switch {
	case v.Kind != VisitReceived && (key == NewCompressorSerial || key == CapFitted):
		return "not to be known before the part is here"
	case key == OilState:
		return "not to be known before the circuit is opened"
	}
	return ""
}
