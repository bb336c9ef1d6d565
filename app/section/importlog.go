package section

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/record"
	"retrostage/reports/series"
	"retrostage/thermo/units"
)

// LogColumn is what a person said a column of a log is.
type LogColumn struct {
	Key  record.Key `json:"key"`
	Unit string     `json:"unit"`
}

// importer takes a logger's file in: what was detected is shown and confirmed
// before anything is kept.
type importer struct {
	*taker
	name   string
	raw    []byte
	known  series.Known
	layout series.Layout
	uses   map[int]*LogColumn
	rows   map[int]*widget.Row // that say which field a column fills
	aim    logAim
}

// logAim is what a log is taken in for.
type logAim struct {
	title, what string
	fields      []record.Field
	guess       func(c series.Column) record.Key
	ask         func(m *importer) // what else is to be confirmed; nil for nothing
	keepWords   string
	keep        func(m *importer)
}

// readingsAim takes a log in as readings of the running unit.
func readingsAim() logAim {
	return logAim{title: "Import a log", what: "a column with the time and one for each reading", fields: series.Loggable(), guess: series.Guess,
		keepWords: "Keep these readings with the job", keep: (*importer).keep}
}

func importLog(h Host, aim logAim) {
	h.Sheet(760, 720, func(shut func()) fyne.CanvasObject { return newImporter(h, aim, shut).Scroll })
}

func newImporter(h Host, aim logAim, shut func()) *importer {
	m := &importer{aim: aim}
	m.taker = newTaker(h, shut, aim.title, "Plain text: one line for each instant, "+aim.what+". Nothing is kept before you have confirmed how it is read.",
		"path of the logger's file", m.load)
	return m
}

// load reads the file beside the finger.
func (m *importer) load() {
	path := strings.TrimSpace(m.path.Text)
	m.Say(theme.Muted, "Reading "+path)
	m.work.Ask(func() func() {
		raw, err := archive.Read(path, series.MaxBytes)
		var l series.Layout
		if err == nil {
			l, err = series.Detect(raw)
		}
		return func() {
			if err != nil {
				m.ask.RemoveAll()
				m.Say(theme.Bad, "Not read: "+err.Error())
				return
			}
			m.raw, m.name, m.known = raw, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)), series.Known{}
			m.confirm(l)
		}
	})
}

// again detects anew with what the person knows better.
func (m *importer) again() {
	raw, known := m.raw, m.known
	m.work.Ask(func() func() {
		l, err := series.DetectAs(raw, known)
		return func() {
			if err != nil {
				m.Say(theme.Bad, "It cannot be read so: "+err.Error())
				return
			}
			m.confirm(l)
		}
	})
}

var delimiters = []struct {
	r    rune
	word string
}{{'\t', "tab"}, {';', "semicolon"}, {',', "comma"}, {'|', "bar"}}

var elapsedWords = map[string]string{series.Seconds: "seconds", series.Minutes: "minutes", series.Hours: "hours", series.Days: "days"}

const unused = "not used"

// confirm shows what was detected and asks which field each column fills.
func (m *importer) confirm(l series.Layout) {
	m.layout, m.uses, m.rows = l, map[int]*LogColumn{}, map[int]*widget.Row{}
	m.ask.RemoveAll()
	var words []string
	chosen := ""
	for _, d := range delimiters {
		words = append(words, d.word)
		if d.r == l.Delimiter {
			chosen = d.word
		}
	}
	small := func(t string) { m.ask.Add(widget.NewWords(t, theme.Small+0.5, false, theme.Muted)) }
	small("Columns are divided by")
	m.ask.Add(widget.NewChoose(words, chosen, func(w string) {
		for _, d := range delimiters {
			if d.word == w {
				m.known = series.Known{Delimiter: d.r}
			}
		}
		m.again()
	}))
	const point, comma = "point: 7.5", "comma: 7,5"
	chosen = point
	if l.DecimalComma {
		chosen = comma
	}
	small("Decimals are written with a")
	m.ask.Add(widget.NewChoose([]string{point, comma}, chosen, func(w string) {
		m.known.Decimal = '.'
		if w == comma {
			m.known.Decimal = ','
		}
		m.again()
	}))
	form := l.TimeForm
	if w, ok := elapsedWords[form]; ok {
		small("Time: column \"" + l.Columns[l.Time].Name + "\", begins with " + l.Columns[l.Time].Sample + ", counted in")
		order := []string{series.Seconds, series.Minutes, series.Hours, series.Days}
		var says []string
		for _, f := range order {
			says = append(says, elapsedWords[f])
		}
		m.ask.Add(widget.NewChoose(says, w, func(w string) { m.layout.TimeForm = order[slices.Index(says, w)] }))
	} else {
		small("Time: column \"" + l.Columns[l.Time].Name + "\", begins with " + l.Columns[l.Time].Sample + ", read as " + timeWords(form))
	}
	if len(l.Notes) > 0 {
		var lines []string
		for _, n := range l.Notes {
			lines = append(lines, Sentence(n))
		}
		m.ask.Add(widget.NewNotice("caution", theme.Warning, lines, nil))
	}
	m.ask.Add(widget.NewHeading("What the columns read"))
	for k, c := range l.Columns {
		if k != l.Time && c.Numeric {
			m.column(k, c)
		}
	}
	if m.aim.ask != nil {
		m.aim.ask(m)
	}
	keep := widget.NewTap(m.aim.keepWords, func() { m.aim.keep(m) })
	keep.Strong = true
	m.ask.Add(keep)
	m.Say(theme.Ink, fmt.Sprintf("Found %d columns. Is it read rightly?", len(l.Columns)))
}

// timeWords writes a time form as an example of the day after the year's first.
func timeWords(form string) string {
	return strings.NewReplacer("2006", "year", "01", "month", "02", "day", "15", "hour", "04", "minute", "05", "second", "1/", "month/", "2/", "day/", "3:", "hour:", "PM", "am or pm", "T", " T ", "Z07:00", "zone").Replace(form)
}

// column asks what one column reads: field and unit.
func (m *importer) column(k int, c series.Column) {
	use := &LogColumn{}
	if r, ok := m.h.Sitting().Columns[strings.ToLower(c.Name)]; ok && m.takes(r.Key) {
		*use = r
	} else {
		use.Key, use.Unit = m.aim.guess(c), c.Unit
	}
	m.uses[k] = use
	q := widget.Field{Key: c.Name, Label: c.Name + ", first " + c.Sample, Kind: widget.PickField, Options: []string{unused}, Says: []string{unused}}
	for _, f := range m.aim.fields {
		q.Options, q.Says = append(q.Options, f.Key.String()), append(q.Says, f.Label)
	}
	row := widget.NewRow(q)
	unit := widget.NewChoose(nil, "", nil)
	unit.Px = theme.Small + 0.5
	unit.Do = func(label string) {
		if f, err := record.ByKey(use.Key); err == nil {
			use.Unit = unitName(f, label)
		}
	}
	offer := func() {
		var labels []string
		chosen := ""
		if f, err := record.ByKey(use.Key); err == nil {
			for _, u := range units.Of(f.Dim) {
				labels = append(labels, u.Label)
				if u.Name == use.Unit {
					chosen = u.Label
				}
			}
			if chosen == "" {
				use.Unit = ""
			}
		}
		unit.SetOptions(labels, chosen)
		m.Scroll.Reflow()
	}
	row.OnResize = m.Scroll.Reflow
	row.OnCommit = func(_ *widget.Row, key, _ string) error {
		use.Key = record.Key{}
		if f, err := record.ByName(key); err == nil && key != unused {
			use.Key = f.Key
		}
		if use.Unit == "" {
			use.Unit = c.Unit
		}
		offer()
		return nil
	}
	show := use.Key.String()
	if show == "" {
		show = unused
	}
	row.SetValue(show, "", "", "")
	m.rows[k] = row
	m.ask.Add(row)
	m.ask.Add(unit)
	offer()
}

// takes tells whether a field is one that the log is taken in for.
func (m *importer) takes(k record.Key) bool {
	return slices.ContainsFunc(m.aim.fields, func(f record.Field) bool { return f.Key == k })
}

// learn remembers what the columns were said to be.
func (m *importer) learn() {
	for k, u := range m.uses {
		m.h.Sitting().Columns[strings.ToLower(m.layout.Columns[k].Name)] = *u
	}
	m.h.Remember()
}

// keep reads the log as confirmed, beside the finger, and keeps it with the job.
func (m *importer) keep() {
	var uses []series.Use
	for k := range m.layout.Columns {
		if u := m.uses[k]; u != nil && u.Key != (record.Key{}) {
			uses = append(uses, series.Use{Column: k, Key: u.Key, Unit: u.Unit})
		}
	}
	for _, r := range m.rows {
		r.SetValue(r.Text(), "", "", "")
	}
	raw, l, name := m.raw, m.layout, m.name
	m.work.Ask(func() func() {
		s, notes, err := series.Keep(raw, l, name, uses)
		return func() {
			if err != nil {
				m.refuse(err)
				return
			}
			m.learn()
			if len(notes) > 0 {
				s.Name += " (" + strings.Join(notes, "; ") + ")" // it belongs to the log wherever that goes
			}
			addLog(m.h, s)
			m.shut()
		}
	})
}

// refuse says what is wrong beside the column it is wrong in.
func (m *importer) refuse(err error) {
	var at *series.UseError
	if errors.As(err, &at) && m.rows[at.Column] != nil {
		r := m.rows[at.Column]
		r.SetValue(r.Text(), "", Sentence(at.Reason), "")
		m.Say(theme.Bad, "Not kept: look at what is said beside the column.")
		m.Scroll.Reveal(r)
		return
	}
	m.Say(theme.Bad, "Not kept: "+err.Error())
	m.Scroll.Reveal(m.Said)
}
