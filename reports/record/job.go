package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"retrostage/reports/entry"
	"retrostage/thermo/units"
)

// Kind and version of the file. A newer version is refused rather than half
// understood.
const (
	FileKind = "retrostage job"
	Version  = 1
)

// Sizes beyond which a file is refused: a real job is a few hundred entries.
const (
	MaxFile    = 16 << 20
	MaxEntries = 100_000
	MaxText    = 20_000 // bytes of one value
)

// Job is one job as entered. Use Set to change it: the entries only grow.
type Job struct {
	Kind        string          `json:"kind"`
	Version     int             `json:"version"`
	ID          string          `json:"id"`
	Demo        bool            `json:"demo"` // invented data, marked wherever it shows
	Step        Step            `json:"step"` // the step last open
	Instruments []Instrument    `json:"instruments"`
	Entries     []Entry         `json:"entries"`
	Drafts      []Draft         `json:"drafts"`
	Unit        json.RawMessage `json:"unit,omitempty"`   // the old unit's netlist, where edited
	Series      []Series        `json:"series,omitempty"` // imported logs

	newest map[Key]newest
}

// newest is the entry that stands for a field, with its number parsed once, when
// it was entered or read: reading a job never parses and never writes, so that
// any number of readers may share one.
type newest struct {
	at     int // index into Entries
	number Amount
	isOne  bool
}

// Amount is a number as entered.
type Amount struct {
	Typed float64 // of a range the upper end
	Low   float64 // of a range the lower end, else as Typed
	Unit  units.Unit
}

// SI is the amount in SI; site is the air pressure of the site in Pa, which a
// gauge reading takes.
func (a Amount) SI(site float64) float64 { return a.Unit.ToSI(a.Typed, site) }

// Near is, of a range, the end that lies nearest to x, SI.
func (a Amount) Near(x float64) float64 {
	lo, hi := a.Unit.ToSI(a.Low, 0), a.SI(0)
	if math.Abs(lo-x) < math.Abs(hi-x) {
		return lo
	}
	return hi
}

// Instrument is a meter with its stated accuracy, one line per dimension.
type Instrument struct {
	ID         string     `json:"id"`
	Name       string     `json:"name"`
	Calibrated string     `json:"calibrated,omitempty"`      // ISO 8601 date
	Due        string     `json:"calibration_due,omitempty"` // ISO 8601 date from which a new calibration is wanted
	Accuracy   []Accuracy `json:"accuracy"`
}

// Accuracy is a half-width: Plus (in Unit) plus Percent of the reading. It is
// taken as the half-width of a rectangular distribution (JCGM 100, 4.3.7).
type Accuracy struct {
	Dim     units.Dimension `json:"dimension"`
	Plus    float64         `json:"plus"`
	Unit    string          `json:"unit"`
	Percent float64         `json:"percent_of_reading"`

	// Step is the smallest difference that the display shows, in Unit; 0 where nobody said.
	Step float64 `json:"step,omitempty"`
}

// String is the half-width in words, a part that is zero left out.
func (a Accuracy) String() string {
	plus, share := strings.TrimSpace(fmt.Sprintf("%g %s", a.Plus, a.Unit)), fmt.Sprintf("%g %% of reading", a.Percent)
	steps := ""
	if a.Step > 0 {
		steps = strings.TrimSpace(fmt.Sprintf(", shown in steps of %g %s", a.Step, a.Unit))
	}
	switch {
	case a.Percent == 0:
		return "±" + plus + steps
	case a.Plus == 0:
		return "±" + share + steps
	}
	return "±(" + plus + " + " + share + ")" + steps
}

// Entry is one field as somebody entered it: Value and Unit as they were understood,
// Typed as the person wrote it where that is not the same. An empty Value clears
// the field.
type Entry struct {
	Key        Key       `json:"key"`
	Value      string    `json:"value"`
	Unit       string    `json:"unit,omitempty"`
	Typed      string    `json:"typed,omitempty"`
	Time       time.Time `json:"time"`
	Instrument string    `json:"instrument,omitempty"`
	By         string    `json:"by,omitempty"`

	// Again marks a reading taken anew: it is kept although it says what stood already.
	Again bool `json:"again,omitempty"`

	// Visit is the one in which it was made, by its name.
	Visit string `json:"visit,omitempty"`
}

// Draft is text that could not be accepted, and why. It is not a reading.
type Draft struct {
	Key    Key    `json:"key"`
	Value  string `json:"value"`
	Unit   string `json:"unit,omitempty"`
	Reason string `json:"reason"`

	// From is the job that it was taken from, until somebody confirms it here.
	From string `json:"from,omitempty"`
}

// Series is a log of readings against time: seconds since the first row, and
// one column of numbers in Unit for each field key.
type Series struct {
	Name    string         `json:"name"`
	Start   time.Time      `json:"start"`
	Seconds []float64      `json:"seconds"`
	Columns []SeriesColumn `json:"columns"`

	// After is how many entries the job held when the log came in.
	After int `json:"after,omitempty"`
}

// SeriesColumn holds the readings of the field Key, one for each second of
// the Series.
type SeriesColumn struct {
	Key        Key       `json:"key"`
	Unit       string    `json:"unit"`
	Instrument string    `json:"instrument,omitempty"`
	Values     []float64 `json:"values"`
}

// New returns an empty job. id must match the pattern of file-safe
// references: letters, digits, dot, dash and underscore.
func New(id string) *Job {
	return &Job{Kind: FileKind, Version: Version, ID: id, Step: Intake,
		Instruments: []Instrument{}, Entries: []Entry{}, Drafts: []Draft{}, newest: map[Key]newest{}}
}

// FieldError is an entry that a field does not accept.
type FieldError struct {
	Key      Key
	Label    string
	Reason   string
	Meanings []Meaning // the ways in which it can be meant, if more than one
}

// Meaning is one way to understand an entry: as the record would keep it, and in
// words.
type Meaning struct{ Value, Unit, Words string }

func (e *FieldError) Error() string { return e.Label + ": " + e.Reason }

func (f Field) refuse(format string, a ...any) error {
	return &FieldError{Key: f.Key, Label: f.Label, Reason: fmt.Sprintf(format, a...)}
}

// spec is what the field takes, for package entry.
func (f Field) spec() entry.Spec {
	return entry.Spec{Dim: f.Dim, Unit: f.Unit, Min: f.Min, Max: f.Max, Span: f.Span, Ends: f.Ends}
}

// Understand reads what a person typed, in the unit shown beside the field: the
// value and the unit as the record keeps them. The error is a *FieldError that says
// what is wrong and what would fit; where the text can be meant in more than one
// way its Meanings are those ways. now is the day that "today" means.
func (f Field) Understand(typed, unit string, now time.Time) (value, in string, err error) {
	typed = strings.TrimSpace(typed)
	switch {
	case typed == "":
		return "", "", nil
	case f.Kind == Number && !slices.Contains(f.Options, typed):
		v, err := entry.Read(typed, f.spec(), unit)
		var a *entry.Ambiguity
		if errors.As(err, &a) {
			fe := f.refuse("%v", err).(*FieldError)
			for _, r := range a.Readings {
				fe.Meanings = append(fe.Meanings, Meaning{r.Text(), r.Unit, a.Say(r)})
			}
			return "", "", fe
		}
		if err != nil {
			return "", "", f.refuse("%v", err)
		}
		if x, err := units.Number(typed); err == nil && x == v.X && !strings.Contains(typed, ",") {
			return typed, v.Unit, nil // a plain decimal stays as it was written
		}
		return v.Text(), v.Unit, nil
	case f.Kind == Date:
		d, err := entry.Date(typed, now)
		var a *entry.DateAmbiguity
		if errors.As(err, &a) {
			fe := f.refuse("%v", err).(*FieldError)
			for _, r := range a.Readings {
				fe.Meanings = append(fe.Meanings, Meaning{r, "", entry.SayDate(r)})
			}
			return "", "", fe
		}
		if err != nil {
			return "", "", f.refuse("%v", err)
		}
		return d, "", f.Check(d, "")
	}
	return typed, unit, f.Check(typed, unit)
}

// Check tells whether the record can keep text in unit for f. A nil error means
// yes; otherwise it is a *FieldError that says what is wrong and what fits.
func (f Field) Check(text, unit string) error {
	switch {
	case text == "":
		return nil
	case !utf8.ValidString(text):
		return f.refuse("the text is not valid UTF-8")
	case len(text) > MaxText:
		return f.refuse("longer than %d bytes", MaxText)
	case f.Kind != Note && strings.ContainsAny(text, "\r\n"):
		return f.refuse("one line only")
	case distinct(text) < f.Words && f.Key == WorkDone:
		return f.refuse("too short: say what was done, in at least %d words", f.Words)
	case distinct(text) < f.Words:
		return f.refuse("too short: say what is left as it is, and why, in at least %d words", f.Words)
	case (f.Kind == Text || f.Kind == Note) && (f.Need || f.Key == SignedBy || f.Key == RootCause || f.Key == DecisionReason) && !Said(text):
		return f.refuse("it holds no letter and no figure")
	case f.Key == VisitNow:
		if _, err := readVisit(text); err != nil {
			return f.refuse("%v", err)
		}
	}
	switch f.Kind {
	case Pick:
		if !slices.Contains(f.Options, text) {
			return f.refuse("%q is not one of: %s", text, strings.Join(f.Options, ", "))
		}
	case Date:
		_, err := time.Parse(time.DateOnly, text)
		_, month := time.Parse("2006-01", text)
		_, year := time.Parse("2006", text)
		switch {
		case f.Coarse && err != nil && month != nil && year != nil:
			return f.refuse("%q is not a date like 2026-08-14, 2026-08 or 2026", text)
		case !f.Coarse && err != nil:
			return f.refuse("%q is not a day: it takes a date like 2026-08-14", text)
		}
	case Number:
		if slices.Contains(f.Options, text) {
			return nil
		}
		u, err := units.Lookup(f.Dim, unit)
		if err != nil {
			return f.refuse("%v", err)
		}
		x, high, err := entry.Ends(text)
		if err == nil && x != high && !f.Span {
			err = fmt.Errorf("%q is a range, and one number is wanted", text)
		}
		if err != nil {
			return f.refuse("%v", err)
		}
		if err := f.spec().Fits(entry.Value{X: x, High: high, Unit: u.Name}); err != nil {
			return f.refuse("%v", err)
		}
	}
	if f.Kind != Number && unit != "" {
		return f.refuse("takes no unit")
	}
	return nil
}

// Said tells whether a text says anything: it holds a letter or a figure.
func Said(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) })
}

// distinct counts the words of a text that say something, each once.
func distinct(text string) int { return len(words(text)) }

// Beyond counts the words of a text that say something and do not stand in another: a
// reason that repeats what it is about gives none.
func Beyond(text, other string) int {
	said := func(t string) []string {
		return strings.FieldsFunc(strings.ToLower(t), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	}
	there, n := said(other), 0
	for _, w := range said(text) {
		if !slices.Contains(there, w) {
			n++
		}
	}
	return n
}

// words are those of a text that hold a letter or a figure.
func words(text string) map[string]bool {
	seen := map[string]bool{}
	for _, w := range strings.Fields(strings.ToLower(text)) {
		if Said(w) {
			seen[w] = true
		}
	}
	return seen
}

// Set enters what was typed for key: appended as it was understood, kept as a draft
// with the error returned when it is not acceptable or can be meant in two ways.
// Leading and trailing space is dropped. Entering what already stands adds nothing.
// The time is kept to the second.
func (j *Job) Set(e Entry) error {
	f, err := ByKey(e.Key)
	if err != nil {
		return err
	}
	e.Value = strings.TrimSpace(e.Value)
	e.Time = e.Time.Truncate(time.Second)
	if f.Kind == Number && e.Unit == "" {
		e.Unit = f.Unit
	}
	j.dropDraft(e.Key)
	value, unit, err := f.Understand(e.Value, e.Unit, e.Time)
	if err != nil {
		var fe *FieldError
		errors.As(err, &fe)
		v := strings.ToValidUTF8(e.Value, "\uFFFD")
		if len(v) > MaxText {
			v = strings.ToValidUTF8(v[:MaxText], "")
		}
		j.Drafts = append(j.Drafts, Draft{Key: e.Key, Value: v, Unit: e.Unit, Reason: fe.Reason})
		return err
	}
	if e.Visit = j.Text(VisitNow); e.Key == VisitNow {
		e.Visit = e.Value
	}
	if e.Key == SignedBy && e.Value != "" {
		if n := j.Unconfirmed(); n > 0 {
			err := f.refuse("%d values from an earlier job are not confirmed yet: confirm or clear them first", n)
			j.Drafts = append(j.Drafts, Draft{Key: e.Key, Value: e.Value, Reason: err.(*FieldError).Reason})
			return err
		}
	}
	if e.Typed = e.Value; value == e.Value && unit == e.Unit {
		e.Typed = ""
	}
	e.Value, e.Unit = value, unit
	if old, ok := j.Entry(e.Key); ok || e.Value == "" {
		same := old.Value == e.Value && (e.Value == "" || old.Unit == e.Unit && old.Instrument == e.Instrument)
		if same && !(e.Again && e.Value != "") && !(e.Value != "" && (e.Key == SetDone || j.setClosedSince(e.Key) || f.Notes && j.enteredSince(f) || j.chargedSince(f) || j.since(e.Key))) && !(e.Key == SignedBy && !j.stands()) {
			return nil
		}
		// To name what it was read with is no new reading: its time stands.
		if ok && e.Value != "" && old.Value == e.Value && old.Unit == e.Unit && old.Instrument != e.Instrument && old.Visit == e.Visit && !e.Again && !j.setClosedSince(e.Key) {
			e.Time = old.Time
		}
	}
	if e.Value == "" {
		e.Unit, e.Instrument = "", ""
	}
	j.add(e)
	if e.Key == SignedBy && e.Value != "" {
		j.add(Entry{Key: SignedRecord, Value: j.digest(), Time: e.Time, By: e.By, Visit: e.Visit})
	}
	return nil
}

// setClosedSince tells whether a set of readings was closed after the newest entry of
// key: the same number read again is a reading of the next set.
func (j *Job) setClosedSince(key Key) bool {
	closed, ok := j.newest[SetDone]
	at, have := j.newest[key]
	return ok && have && closed.at > at.at
}

// chargedSince tells whether a charge was entered after the newest entry of a reading of
// the running unit: the same number read again is one of the unit as charged.
func (j *Job) chargedSince(f Field) bool {
	if f.Kind != Number || f.Origin != Measured || f.Step != Running && f.Group != "Live checks" {
		return false
	}
	charge, ok := j.newest[WeighedIn]
	at, have := j.newest[f.Key]
	return ok && have && charge.at > at.at
}

// moments are answers and readings of a moment in the work: given once more after what they
// follow was entered they are new, though they say the same.
var moments = map[Key][]Key{
	TestP2: {TestP1, NitrogenFlow, DrierFitted}, VacuumEnd: {TestP1, TestP2}, VacuumBroken: {VacuumEnd},
	LeakSearch: {WeighedIn, FirstSeconds}, LabelCharge: {WeighedIn, Trimmed}, LabelDone: {LabelCharge},
}

// since tells whether what an answer follows was entered after its newest entry.
func (j *Job) since(k Key) bool {
	at, ok := j.newest[k]
	if !ok {
		return false
	}
	for _, b := range moments[k] {
		if n, ok := j.newest[b]; ok && n.at > at.at {
			return true
		}
	}
	return false
}

// enteredSince tells whether anything of the step of f came after its newest entry: the
// same answer given again covers that too.
func (j *Job) enteredSince(f Field) bool {
	at, ok := j.Index(f.Key)
	if !ok {
		return false
	}
	for _, e := range j.Entries[at+1:] {
		if e.Key.Field().Step == f.Step || f.Step == Wiring && IsMeter(e.Key) {
			return true
		}
	}
	return false
}

func (j *Job) add(e Entry) {
	j.Entries = append(j.Entries, e)
	if j.newest == nil {
		j.newest = map[Key]newest{}
	}
	j.newest[e.Key] = j.read(len(j.Entries) - 1)
}

func (j *Job) dropDraft(key Key) {
	j.Drafts = slices.DeleteFunc(j.Drafts, func(d Draft) bool { return d.Key == key })
}

// Entry returns the newest entry of key; ok is false when there is none or it
// was cleared.
func (j *Job) Entry(key Key) (e Entry, ok bool) {
	n, ok := j.newest[key]
	if !ok || j.Entries[n.at].Value == "" {
		return Entry{}, false
	}
	return j.Entries[n.at], true
}

// Text returns the newest value of key, "" when there is none.
func (j *Job) Text(key Key) string {
	e, _ := j.Entry(key)
	return e.Value
}

// Draft returns what was last typed for key and could not be accepted.
func (j *Job) Draft(key Key) (Draft, bool) {
	for _, d := range j.Drafts {
		if d.Key == key {
			return d, true
		}
	}
	return Draft{}, false
}

// Unconfirmed is how many drafts come from an earlier job and are not confirmed.
func (j *Job) Unconfirmed() (n int) {
	for _, d := range j.Drafts {
		if d.From != "" {
			n++
		}
	}
	return n
}

// Number returns the newest number of key as entered; ok is false when there is
// none, also where an open line stands in its place.
func (j *Job) Number(key Key) (a Amount, ok bool) {
	n := j.newest[key]
	return n.number, n.isOne
}

// SI returns the newest number of key in SI. site is the air pressure of the
// site in Pa, for gauge readings. ok is false when there is none.
func (j *Job) SI(key Key, site float64) (x float64, ok bool) {
	a, ok := j.Number(key)
	if !ok {
		return 0, false
	}
	return a.SI(site), true
}

// Instrument finds an instrument by its id.
func (j *Job) Instrument(id string) (Instrument, bool) {
	for _, i := range j.Instruments {
		if i.ID == id && id != "" {
			return i, true
		}
	}
	return Instrument{}, false
}

// History lists every entry of key, oldest first.
func (j *Job) History(key Key) []Entry {
	var h []Entry
	for _, e := range j.Entries {
		if e.Key == key {
			h = append(h, e)
		}
	}
	return h
}

// Clone returns a copy that shares nothing, so that a computation may go on
// beside the finger.
func (j *Job) Clone() *Job {
	c := *j
	c.Instruments = slices.Clone(j.Instruments)
	for i, in := range c.Instruments {
		c.Instruments[i].Accuracy = slices.Clone(in.Accuracy)
	}
	c.Entries = slices.Clone(j.Entries)
	c.Drafts = slices.Clone(j.Drafts)
	c.Unit = slices.Clone(j.Unit)
	c.Series = slices.Clone(j.Series)
	for i, s := range c.Series {
		c.Series[i].Seconds, c.Series[i].Columns = slices.Clone(s.Seconds), slices.Clone(s.Columns)
		for k, col := range s.Columns {
			c.Series[i].Columns[k].Values = slices.Clone(col.Values)
		}
	}
	c.newest = maps.Clone(j.newest)
	return &c
}

func (j *Job) index() {
	at := make(map[Key]int, len(j.Entries))
	for i, e := range j.Entries {
		at[e.Key] = i
	}
	j.newest = make(map[Key]newest, len(at))
	for k, i := range at {
		j.newest[k] = j.read(i)
	}
}

// read is entry i with its number.
func (j *Job) read(i int) newest {
	e, n := j.Entries[i], newest{at: i}
	f, err := ByKey(e.Key)
	if err != nil || f.Kind != Number || e.Value == "" {
		return n
	}
	if n.number.Unit, err = units.Lookup(f.Dim, e.Unit); err != nil {
		return n
	}
	n.number.Low, n.number.Typed, err = entry.Ends(e.Value)
	n.isOne = err == nil
	return n
}

// Encode writes the canonical form: the same job gives the same bytes, and
// Decode of those bytes encodes to them again.
func (j *Job) Encode() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(j); err != nil {
		return nil, fmt.Errorf("job %s: %w", j.ID, err)
	}
	return b.Bytes(), nil
}

// Decode reads a job. It is strict: an unknown member, an unknown field, a
// value its field does not accept, a second document or a newer version is an
// error that names the line or the field.
func Decode(b []byte) (*Job, error) {
	if len(b) > MaxFile {
		return nil, fmt.Errorf("file of %d bytes is larger than a job can be (%d)", len(b), MaxFile)
	}
	if !utf8.Valid(b) {
		return nil, errors.New("not a job file: the text is not valid UTF-8")
	}
	if err := noTwins(b); err != nil {
		return nil, err
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	j := New("")
	j.Kind, j.Version = "", 0 // a file has to say both
	if err := d.Decode(j); err != nil {
		return nil, describe(b, d.InputOffset(), err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("line %d: more text after the job", lineAt(b, d.InputOffset()))
	}
	if j.Instruments == nil {
		j.Instruments = []Instrument{}
	}
	if j.Entries == nil {
		j.Entries = []Entry{}
	}
	if j.Drafts == nil {
		j.Drafts = []Draft{}
	}
	if err := j.validate(); err != nil {
		return nil, err
	}
	j.index()
	return j, nil
}

// noTwins refuses a member that an object has twice, which the decoder would take for
// one that replaces the first: a second "entries": [] would empty a job. Members are
// told apart as the decoder does, without regard to case, which to it makes the long s an
// s. It refuses lists and objects longer, and deeper, than any job has, too, before room is
// made for them. What is no JSON is left to the decoder to name.
func noTwins(b []byte) error {
	type level struct {
		names map[string]bool // nil in a list
		due   bool            // the next text is the name of a member
		n     int             // commas
	}
	var in []level
	for i := 0; i < len(b); i++ {
		var top *level
		if len(in) > 0 {
			top = &in[len(in)-1]
		}
		switch c := b[i]; {
		case c == '"':
			end := endOfText(b, i)
			if end < 0 {
				return nil
			}
			if top != nil && top.due {
				name, ok := memberName(b[i:end])
				if !ok {
					return nil
				}
				if top.names[name] {
					return fmt.Errorf("line %d: the member %q is there twice", lineAt(b, int64(end)), name)
				}
				top.names[name], top.due = true, false
			}
			i = end - 1
		case c == '{':
			in = append(in, level{names: map[string]bool{}, due: true})
		case c == '[':
			in = append(in, level{})
		case top == nil:
		case c == '}' || c == ']':
			in = in[:len(in)-1]
		case c == ',':
			if top.n++; top.n > MaxEntries || top.names != nil && top.n > maxMembers {
				return fmt.Errorf("line %d: more in one list, or one object, than a job can have (%d, %d)", lineAt(b, int64(i)), MaxEntries, maxMembers)
			}
			top.due = top.names != nil
		}
		if len(in) > 100 {
			return errors.New("nested deeper than a job can be")
		}
	}
	return nil
}

// maxMembers is how many an object can have.
const maxMembers = 1000

// endOfText is what follows a text that begins at i, -1 where it has no end.
func endOfText(b []byte, i int) int {
	for i++; i < len(b); i++ {
		switch b[i] {
		case '"':
			return i + 1
		case '\\':
			i++
		}
	}
	return -1
}

// memberName is the name of a member as the decoder tells it from others.
func memberName(quoted []byte) (string, bool) {
	plain := true
	for _, c := range quoted[1 : len(quoted)-1] {
		plain = plain && (c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '_')
	}
	if plain {
		return string(quoted[1 : len(quoted)-1]), true
	}
	var name string
	if json.Unmarshal(quoted, &name) != nil {
		return "", false
	}
	return strings.ToLower(strings.ToUpper(name)), true // the long s and the Kelvin sign too, as the decoder folds them
}

func lineAt(b []byte, off int64) int {
	return 1 + bytes.Count(b[:min(max(off, 0), int64(len(b)))], []byte("\n"))
}

func describe(b []byte, off int64, err error) error {
	var syn *json.SyntaxError
	var typ *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syn):
		return fmt.Errorf("line %d: %v", lineAt(b, syn.Offset), err)
	case errors.As(err, &typ):
		if typ.Field == "" {
			return fmt.Errorf("line %d: not a job file: %s where a job begins", lineAt(b, typ.Offset), typ.Value)
		}
		return fmt.Errorf("line %d: %s cannot be: %s", lineAt(b, typ.Offset), typ.Field, typ.Value)
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return fmt.Errorf("line %d: the file ends in the middle", lineAt(b, int64(len(b))))
	}
	// The decoder reads the whole document before it finds a strange member.
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		if i := bytes.Index(b, []byte(name)); i >= 0 {
			off = int64(i)
		}
		err = fmt.Errorf("unknown member %s", name)
	}
	return fmt.Errorf("line %d: %v", lineAt(b, off), err)
}

// safeID is what may name a job: it also names files.
var safeID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$`)

// CheckID tells whether id can name a job.
func CheckID(id string) error {
	if !safeID.MatchString(id) {
		return fmt.Errorf("job id %q: use up to 64 letters, digits, dots, dashes and underscores, starting with a letter or digit", id)
	}
	return nil
}

func (j *Job) validate() error {
	if j.Kind != FileKind {
		return fmt.Errorf("not a job file: kind is %q, not %q", j.Kind, FileKind)
	}
	if j.Version < 1 || j.Version > Version {
		return fmt.Errorf("version: %d is not supported; this program reads up to %d", j.Version, Version)
	}
	if err := CheckID(j.ID); err != nil {
		return fmt.Errorf("id: %w", err)
	}
	if _, ok := j.Step.Info(); !ok {
		return fmt.Errorf("step: %q is not a step", j.Step)
	}
	if len(j.Entries) > MaxEntries {
		return fmt.Errorf("entries: %d are more than %d", len(j.Entries), MaxEntries)
	}
	seen := map[string]bool{}
	for i, in := range j.Instruments {
		if err := in.validate(); err != nil {
			return fmt.Errorf("instruments[%d]: %w", i, err)
		}
		if seen[in.ID] {
			return fmt.Errorf("instruments[%d]: id %q is used twice", i, in.ID)
		}
		seen[in.ID] = true
	}
	for i, e := range j.Entries {
		if err := e.check(func(id string) bool { return seen[id] }); err != nil {
			return fmt.Errorf("entries[%d] (%v): %w", i, e.Key, err)
		}
	}
	for i, d := range j.Drafts {
		if err := d.check(); err != nil {
			return fmt.Errorf("drafts[%d] (%v): %w", i, d.Key, err)
		}
	}
	if err := checkUnit(j.Unit); err != nil {
		return fmt.Errorf("unit: %w", err)
	}
	names := map[string]bool{}
	for i, s := range j.Series {
		if err := s.validate(); err != nil {
			return fmt.Errorf("series[%d] (%s): %w", i, s.Name, err)
		}
		if names[s.Name] {
			return fmt.Errorf("series[%d] (%s): the name is used twice", i, s.Name)
		}
		names[s.Name] = true
	}
	return nil
}

// Overdue tells that a calibration was wanted before now.
func (in Instrument) Overdue(now time.Time) bool {
	return in.Due != "" && now.Format(time.DateOnly) > in.Due
}

func (in Instrument) validate() error {
	if in.ID == "" {
		return errors.New("has no id")
	}
	if in.Calibrated != "" {
		if _, err := time.Parse(time.DateOnly, in.Calibrated); err != nil {
			return fmt.Errorf("calibrated: %q is not a date like 2026-08-14", in.Calibrated)
		}
	}
	if in.Due != "" {
		if _, err := time.Parse(time.DateOnly, in.Due); err != nil {
			return fmt.Errorf("calibration due: %q is not a date like 2026-08-14", in.Due)
		}
	}
	for _, a := range in.Accuracy {
		if _, err := units.Lookup(a.Dim, a.Unit); err != nil {
			return err
		}
		if a.Plus < 0 || a.Percent < 0 || a.Percent > 100 {
			return fmt.Errorf("accuracy of %s: %g %s and %g %% cannot be a half-width", a.Dim, a.Plus, a.Unit, a.Percent)
		}
		if !(a.Step >= 0 && a.Step <= 1e9) {
			return fmt.Errorf("accuracy of %s: steps of %g %s are none that a display shows", a.Dim, a.Step, a.Unit)
		}
	}
	return nil
}

func (s Series) validate() error {
	if len(s.Seconds) > MaxEntries {
		return fmt.Errorf("%d rows are more than %d", len(s.Seconds), MaxEntries)
	}
	for i, t := range s.Seconds {
		if t < 0 || t > maxSeconds || i > 0 && t < s.Seconds[i-1] {
			return fmt.Errorf("the time %g s of row %d is before the one above, or outside 0 to %g s", t, i+1, float64(maxSeconds))
		}
	}
	if !s.Start.IsZero() { // a log of elapsed time has no date
		if err := checkTime(s.Start); err != nil {
			return fmt.Errorf("start: %w", err)
		}
	}
	if s.After < 0 || s.After > MaxEntries {
		return fmt.Errorf("after: %d cannot be", s.After)
	}
	for _, c := range s.Columns {
		if err := c.validate(len(s.Seconds)); err != nil {
			return fmt.Errorf("%v: %w", c.Key, err)
		}
	}
	return nil
}

// maxSeconds is longer than any log: a year.
const maxSeconds = 366 * 24 * 3600

// validate tells whether the field would take the readings of the column. Its bounds
// are those of the field, so the lowest and the highest stand for all.
func (c SeriesColumn) validate(rows int) error {
	f, err := ByKey(c.Key)
	if err != nil {
		return err
	}
	if f.Kind != Number {
		return errors.New("takes no reading")
	}
	u, err := units.Lookup(f.Dim, c.Unit)
	if err != nil {
		return err
	}
	if len(c.Values) != rows {
		return fmt.Errorf("%d values for %d times", len(c.Values), rows)
	}
	if rows == 0 {
		return nil
	}
	for _, x := range []float64{slices.Min(c.Values), slices.Max(c.Values)} {
		if err := f.spec().Fits(entry.Value{X: x, High: x, Unit: u.Name}); err != nil {
			return err
		}
	}
	return nil
}
