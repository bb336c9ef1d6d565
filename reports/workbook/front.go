package workbook

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// objection is one thing that stands against signing, as the first page tells it.
type objection struct {
	word    assess.Verdict // lends its shape
	what    string
	finding *assess.Finding // nil where no finding is behind it
	words   string          // the explanation
	as      string          // the word for it where it is not that of the verdict
}

// said is the word that stands for it.
func (o objection) said() string {
	return cmp.Or(o.as, string(o.word))
}

// Of what is no reading it is said that it was not entered, and of steps that another
// decision leaves empty that there is nothing to do.
const notEntered, nothingToDo = "not entered", "nothing to do"

// objections lists everything that stands against signing, worst first: what the
// wiring plan and the running check say, outside, too close to call, not measured,
// what was left as it is.
func (b *book) objections() []objection {
	var out []objection
	for _, words := range b.wiring.attention() {
		out = append(out, objection{word: assess.Outside, what: "Wiring plan", words: words})
	}
	said, suspect := b.ranking.words()
	if suspect { // before single readings: it says what they come to
		out = append(out, objection{word: assess.Outside, what: "Running check, all readings together", words: said})
	}
	for _, m := range b.rep.Against {
		if m.Stand == assess.IsMissing && b.state(m.Step).Otherwise {
			continue
		}
		out = append(out, b.objection(m))
	}
	if o, ok := b.otherwise(); ok {
		out = append(out, o)
	}
	return out
}

func (b *book) state(s record.Step) assess.State {
	for _, x := range b.rep.Steps {
		if x.Step == s {
			return x
		}
	}
	return assess.State{}
}

// otherwise tells in one line of the steps that the decision leaves nothing to do.
func (b *book) otherwise() (objection, bool) {
	var names []string
	for _, s := range b.rep.Steps {
		if s.Otherwise {
			info, _ := s.Step.Info()
			names = append(names, info.Title)
		}
	}
	return objection{word: assess.NotMeasured, as: nothingToDo, what: strings.Join(names, " and "),
		words: "Decided in Choice: " + b.job.Text(record.Decision) + ". What these steps ask for belongs to a conversion."}, len(names) > 0
}

func (b *book) objection(m assess.Matter) objection {
	info, _ := m.Step.Info()
	o := objection{word: verdictOf[m.Stand], what: info.Title + ": " + m.Label, words: m.Why}
	if m.Label == info.Title { // the whole step
		o.what = info.Title
	}
	if m.Stand == assess.IsMissing {
		f, err := record.ByName(m.Key)
		if x, ok := b.rep.Find(m.Key); ok && x.Verdict == assess.NotJudged { // the same word as among the findings
			o.as = string(assess.NotJudged)
		}
		if m.Label == info.Title || err == nil && f.Kind != record.Number {
			o.as = notEntered
		}
	}
	if f, ok := b.rep.Find(m.Key); ok && m.Stand != assess.IsMissing {
		o.finding = &f
		o.words = f.Next
	}
	switch {
	case m.Stand == assess.Reservation:
		o.words = sentences(o.words, fmt.Sprintf("Left as it is by %s, %s: %s", m.Reserved.By, m.Reserved.At, m.Reserved.Text))
		if o.finding == nil {
			o.words = sentences(capital(string(m.Was)), o.words)
		}
	case o.words == "" && m.Stand == assess.IsMissing:
		o.words = "The step " + info.Title + " is not done without it."
	case m.Label == info.Title:
		o.words = "Nothing of this step was entered."
	case o.words == "":
		o.words = string(m.Stand)
	}
	o.words = capital(o.words)
	return o
}

// capital makes a sentence of words.
func capital(s string) string {
	if s == "" {
		return s
	}
	return sentences(strings.ToUpper(s[:1]) + s[1:])
}

// sentences joins what is there, each ended by a stop.
func sentences(ss ...string) string {
	var out []string
	for _, s := range ss {
		if s = strings.TrimSpace(s); s == "" {
			continue
		}
		if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") && !strings.HasSuffix(s, "!") {
			s += "."
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

// front is the first page in the making: one printed page, whatever the job.
type front struct {
	*page
	b      *book
	tight  int         // how far texts are cut, from 0
	cut    [][2]string // name and text of what was cut, for the next page
	row    int
	judged [2]int            // first and last row that holds a verdict word
	signs  map[string][2]int // name -> row, column of the boxes
}

// The columns of the first page: the job on the left, the signature block on the
// right, everything else across.
const (
	frontShape = iota + 1
	frontLabel
	frontText
	frontTextEnd
	_
	frontSign
	frontBox
	frontLast
)

// worst is how many things that stand against signing the first page tells.
const worst = 8

// limits of lines by how tight the page has to be.
var frontLines = []struct{ job, what, words, done, asides int }{{4, 3, 8, 6, singly}, {4, 3, 8, 4, grouped}, {4, 2, 5, 3, grouped}, {3, 2, 5, 3, grouped}, {3, 2, 4, 3, grouped}, {3, 2, 4, 3, named},
	{2, 2, 3, 3, named}, {2, 2, 2, 2, named}, {2, 1, 2, 2, named}, {1, 1, 2, 1, named}, {1, 1, 1, 1, named}}

// How asides are told: each with its sentence, what is too close to call in one, or by
// their names alone.
const (
	singly = iota
	grouped
	named
)

// handOverPage is what the supervisor reads and signs, and what is left for the page
// behind it.
func (b *book) handOverPage() (*page, *front) {
	against := b.objections()
	for tight := range frontLines {
		f := &front{page: newPage("Hand-over", "Hand-over", 3, 16, 18, 16, 1.5, 13, 11, 18), b: b, tight: tight}
		f.lay(against)
		high := 0.0
		for r := range f.rows {
			high += f.height(r + 1)
		}
		if high <= b.room(f.page) || tight == len(frontLines)-1 {
			f.one = true
			for _, n := range []string{signName, signDate, signDecision, signRemarks} {
				b.name(n, f.page, f.signs[n][0], f.signs[n][1])
			}
			return f.page, f
		}
	}
	panic("workbook: a hand-over page without a layout")
}

func (f *front) lay(against []objection) {
	f.row = f.b.banner(f.page, frontLast) - 1
	top := f.row
	f.identity()
	f.signature(top)
	f.against(against)
	f.counted()
	f.done()
	f.text(f.row, 1, note, "SHA-256 of the record: "+f.b.digest)
	f.span(f.row, 1, frontLast)
	f.finish = f.colours(top)
}

func (f *front) heading(col, last int, s string) {
	f.text(f.row, col, section, s)
	f.span(f.row, col, last)
	f.heights[f.row] = 20
}

// short is s in at most so many lines of the columns, what is cut being kept for the
// next page.
func (f *front) short(name, s string, c1, c2 int, k lookKind, lines int) string {
	flat := strings.Join(strings.Fields(s), " ")
	if linesOf(flat, f.width(c1, c2), k) <= lines {
		return flat
	}
	f.cut = append(f.cut, [2]string{name, s})
	const more = " … (page 2)"
	words := strings.Fields(flat)
	out := ""
	for _, w := range words {
		if r := []rune(w); len(r) > 60 {
			w = string(r[:60])
		}
		if linesOf(out+" "+w+more, f.width(c1, c2), k) > lines {
			break
		}
		out = strings.TrimSpace(out + " " + w)
	}
	return out + more
}

// tall sets the height of the row for so much text.
func (f *front) tall(c1, c2 int, s string, k lookKind) {
	f.heights[f.row] = max(f.heights[f.row], float64(linesOf(s, f.width(c1, c2), k))*sizeOf(k)*1.2+3.5)
}

// sizeOf is the size of type of a look that wraps.
func sizeOf(k lookKind) float64 {
	switch k {
	case note, faint, head:
		return 9
	case fill:
		return 11
	}
	return 10
}

// linesOf is how many lines a text takes in a width in characters of Arial 11, broken
// between words, in a type as wide as the widest that stands in for it.
func linesOf(s string, width float64, k lookKind) int {
	perLine := max(4, math.Floor(width*6/(0.585*sizeOf(k))))
	lines, at := 1, 0.0
	for _, w := range strings.Fields(s) {
		n := float64(len([]rune(w)))
		switch {
		case at == 0:
			at = n
		case at+1+n <= perLine:
			at += 1 + n
		default:
			lines, at = lines+1, n
		}
		for at > perLine {
			lines, at = lines+1, at-perLine
		}
	}
	return lines
}

func (f *front) pair(name, s string, lines int) {
	s = f.short(name, s, frontText, frontTextEnd, wrapped, lines)
	f.text(f.row, frontShape, label, name)
	f.span(f.row, frontShape, frontLabel)
	f.text(f.row, frontText, wrapped, s)
	f.span(f.row, frontText, frontTextEnd)
	f.heights[f.row] = 17
	f.tall(frontText, frontTextEnd, s, wrapped)
	f.row++
}

// wide is a pair over the whole width.
func (f *front) wide(name, s string, lines int) {
	s = f.short(name, s, frontText, frontLast, wrapped, lines)
	f.text(f.row, frontShape, label, name)
	f.span(f.row, frontShape, frontLabel)
	f.text(f.row, frontText, wrapped, s)
	f.span(f.row, frontText, frontLast)
	f.tall(frontText, frontLast, s, wrapped)
	f.row++
}

func (f *front) identity() {
	j := f.b.job
	join := func(keys ...record.Key) string {
		var s []string
		for _, k := range keys {
			if t := j.Text(k); t != "" {
				s = append(s, t)
			}
		}
		if s == nil {
			return "not entered"
		}
		return strings.Join(s, ", ")
	}
	f.heading(frontShape, frontTextEnd, "The job")
	f.row++
	signs := join(record.TechnicianRef)
	switch s, ok := j.Signed(); {
	case !ok:
		signs += "; not signed by the technician"
	case !s.Stands:
		signs += "; signed by " + j.Text(record.SignedBy) + ", and changed since: " + strings.Join(s.Since, ", ")
	default:
		signs += "; signed by " + j.Text(record.SignedBy) + ", " + join(record.SignedDate)
		if n := len(f.b.undone()); n > 0 {
			signs += fmt.Sprintf("; %s not done", count(n, "step"))
		}
	}
	for _, l := range [][2]string{
		{"Owner reference, visit", join(record.OwnerRef, record.VisitDate)},
		{"Technician", signs},
		{"Outdoor unit", join(record.OldUnitModel, record.OldUnitSerial)},
		{"Refrigerant, metering", join(record.Refrigerant, record.Metering)},
		{"Failed compressor", join(record.OldCompressorModel, record.OldCompressorSerial)},
		{"What failed, oil", join(record.FailureKind, record.OilState)},
		{"Why it failed", join(record.RootCause)},
		{"New compressor", join(record.NewCompressorModel, record.NewCompressorSerial)},
		{"Way chosen", join(record.Decision)},
	} {
		f.pair(l[0], l[1], frontLines[f.tight].job)
	}
}

// against tells the worst that stands against signing, each with its explanation, and
// how many more there are.
func (f *front) against(all []objection) {
	f.row++
	f.heights[f.row-1] = 6
	if len(all) == 0 {
		f.heading(1, frontLast, "Nothing stands against it")
		f.row++
		f.line(wrapped, "What the steps need was measured, and nothing of it is outside its limits or left too close to call.")
		return
	}
	n := map[assess.Verdict]int{}
	for _, o := range all {
		n[o.word]++
	}
	f.heading(1, frontLast, "What stands against it: "+tallyWords(all))
	f.row++
	f.judged[0] = f.row
	lines := frontLines[f.tight]
	for i, o := range all {
		if i == worst {
			break
		}
		f.objection(o, lines.what, lines.words)
	}
	f.judged[1] = f.row - 1
	if more := len(all) - worst; more > 0 {
		f.line(wrapped, fmt.Sprintf("And %d more, continued on page 2: %s.", more, tallyWords(all[worst:])))
	}
}

// tallyWords counts what stands against signing, in words.
func tallyWords(all []objection) string {
	n := map[string]int{}
	for _, o := range all {
		n[o.kind()]++
	}
	var out []string
	for _, k := range []string{string(assess.Outside), string(assess.TooClose), string(assess.NotMeasured), string(assess.NotJudged), notEntered, leftAsIs} {
		if n[k] > 0 {
			out = append(out, fmt.Sprintf("%d %s", n[k], k))
		}
	}
	return strings.Join(out, ", ")
}

const leftAsIs = "left as it is under a reservation"

func (o objection) kind() string {
	if strings.Contains(o.words, "Left as it is by ") || strings.HasPrefix(o.words, "LEFT OUT") {
		return leftAsIs
	}
	return o.said()
}

// objection takes two rows: what, value, limit and verdict; and the explanation.
func (f *front) objection(o objection, whatLines, wordLines int) {
	b := f.b
	f.text(f.row, frontShape, shape, shapes[o.word])
	what := f.short("What stands against it", o.what, frontLabel, frontTextEnd, wrapped, whatLines)
	f.text(f.row, frontLabel, wrapped, what)
	f.span(f.row, frontLabel, frontTextEnd)
	f.heights[f.row] = 15
	f.tall(frontLabel, frontTextEnd, what, wrapped)
	for c := frontTextEnd + 1; c <= frontLast; c++ {
		f.text(f.row, c, faint, "")
	}
	if x := o.finding; x != nil && x.Measured {
		num := decimals(b.places(x.Dim))
		if u := b.unit(x.Dim).Label; u != "" {
			num += ` "` + u + `"`
		}
		f.live(f.row, frontSign, figure, "f_"+x.Key, b.show(x.Dim, x.Value), num)
		f.text(f.row, frontBox, faint, b.limitWords(*x))
		f.live(f.row, frontLast, verdict, "f_"+x.Key+"_verdict", string(x.Verdict), "")
		f.live(f.row, frontShape, shape, shapeFormula(ref(f.row, frontLast)), shapes[x.Verdict], "")
	} else {
		f.text(f.row, frontLast, verdict, o.said())
	}
	f.row++
	words := f.short(o.what, o.words, frontLabel, frontLast, note, wordLines)
	f.text(f.row, frontLabel, note, words)
	f.span(f.row, frontLabel, frontLast)
	f.tall(frontLabel, frontLast, words, note)
	f.row++
}

// limitWords is what a finding is held against.
func (b *book) limitWords(f assess.Finding) string {
	show := func(x float64) string { return fmt.Sprintf("%.*f", b.places(f.Dim), b.show(f.Dim, x)) }
	lo, hi := f.Band.Low, f.Band.High
	switch {
	case lo != nil && hi != nil && *lo == *hi:
		if f.Matters != nil {
			return fmt.Sprintf("%s ± %.*f", show(*lo), b.places(f.Dim), b.unit(f.Dim).Span(*f.Matters))
		}
		return "to be " + show(*lo)
	case lo != nil && hi != nil:
		return show(*lo) + " to " + show(*hi)
	case lo != nil:
		return "at least " + show(*lo)
	case hi != nil:
		return "at most " + show(*hi)
	}
	return ""
}

func (f *front) line(k lookKind, s string) {
	f.text(f.row, 1, k, s)
	f.span(f.row, 1, frontLast)
	f.tall(1, frontLast, s, k)
	f.row++
}

// counted is how all findings came out, in one live line, and what of it is not told
// above: what lies beyond a limit and was not judged, what is too close to call and will
// stay so, what was not measured, and which parts are not known to fit.
func (f *front) counted() {
	n := f.b.rep.Count()
	formula, words := `"Of all findings: "`, "Of all findings: "
	for i, v := range []assess.Verdict{assess.Outside, assess.TooClose, assess.NotMeasured, assess.NotJudged, assess.Within} {
		end := ", "
		switch {
		case i == 4:
			end = "."
		case n[v] == 0:
			continue
		}
		formula += fmt.Sprintf(`&COUNTIF(verdicts,%q)&" %s%s"`, v, v, end)
		words += fmt.Sprintf("%d %s%s", n[v], v, end)
	}
	asides, plain := f.b.asides()
	if plain > 0 {
		t := fmt.Sprintf(" Not judged: %d for which no limit tells anything.", plain)
		formula, words = formula+fmt.Sprintf("&%q", t), words+t
	}
	f.live(f.row, 1, note, formula, words, "")
	f.span(f.row, 1, frontLast)
	f.tall(1, frontLast, words, note)
	f.row++
	switch lines := frontLines[f.tight]; {
	case lines.asides == singly:
		for _, a := range asides {
			f.line(note, f.short(a.said[0], a.said[0]+": "+a.said[1], 1, frontLast, note, lines.words))
		}
	case lines.asides == grouped:
		for _, a := range f.b.together(asides) {
			f.line(note, f.short(a[0], a[0]+": "+a[1], 1, frontLast, note, lines.words))
		}
	case len(asides) > 0:
		var names []string
		for _, a := range asides {
			names = append(names, a.said[0])
		}
		f.line(note, f.short("Also to know", "Also to know, see Findings: "+strings.Join(names, "; ")+".", 1, frontLast, note, lines.done))
	}
	f.heights[f.row] = 6
	f.row++
}

// noLimit is the reason of what is not judged for there is nothing to hold it against.
const noLimit = "no limit applies"

// asides are the findings that keep nobody from signing and yet say something, each
// with its sentence; plain counts the results that have no limit.
func (b *book) asides() (out []aside, plain int) {
	against := map[string]bool{}
	for _, m := range b.rep.Against {
		against[m.Key] = true
	}
	rank := func(f assess.Finding) int {
		switch {
		case against[f.Key], f.Step == record.Cause: // the second is of the unit as it was found
		case f.Verdict == assess.NotJudged && beyond(f):
			return 1
		case f.Verdict == assess.TooClose:
			return 2
		case f.Verdict == assess.NotJudged && f.Reason != noLimit && f.Band == (assess.Band{}):
			return 3
		case f.Verdict == assess.NotMeasured && len(b.rep.Against) < worst: // of a job in its course there are many
			return 4
		}
		return 0
	}
	for want := 1; want <= 4; want++ {
		for _, f := range b.rep.Findings {
			if want == 1 && f.Verdict == assess.NotJudged && rank(f) == 0 {
				plain++
			}
			if rank(f) != want {
				continue
			}
			words := string(f.Verdict)
			if f.Measured {
				words = strings.TrimSpace(b.figure(f) + ", " + words)
			}
			if want == 1 {
				words += ", though beyond its limit (" + b.limitWords(f) + ")"
			}
			why := f.Next
			if f.Reason != "" {
				why = f.Reason
			}
			out = append(out, aside{[2]string{f.Label, sentences(words, capital(why))}, &f})
		}
	}
	if s := b.notKnown(); s != "" {
		out = append(out, aside{[2]string{"Not known whether these parts fit", s}, nil})
	}
	return out, plain
}

// aside is a name, a sentence, and the finding behind it, nil if there is none.
type aside struct {
	said    [2]string
	finding *assess.Finding
}

// together tells in one line of what is too close to call: no more of the same readings
// settles any of it, and its figures say how close.
func (b *book) together(all []aside) (out [][2]string) {
	near, at := []string{}, -1
	for _, a := range all {
		f := a.finding
		if f == nil || f.Verdict != assess.TooClose {
			out = append(out, a.said)
			continue
		}
		if at < 0 {
			at = len(out)
			out = append(out, [2]string{})
		}
		w := b.limitWords(*f)
		if w != "" {
			w = " (" + w + ")"
		}
		near = append(near, f.Label+" "+b.figure(*f)+w)
	}
	if at >= 0 {
		out[at] = [2]string{"Too close to call, and reading again does not settle it (read twice, or the doubt is in no reading)", strings.Join(near, "; ") + "."}
	}
	return out
}

// beyond tells a value on the far side of a limit, judged or not.
func beyond(f assess.Finding) bool {
	return f.Measured && (f.Band.Low != nil && f.Value < *f.Band.Low || f.Band.High != nil && f.Value > *f.Band.High)
}

// figure is what a finding measured, in words.
func (b *book) figure(f assess.Finding) string {
	n := strings.TrimSpace(fmt.Sprintf("%.*f", b.places(f.Dim), b.show(f.Dim, f.Value)))
	if strings.Trim(n, "-0.") == "" {
		n = strings.TrimPrefix(n, "-")
	}
	return strings.TrimSpace(n + " " + b.unit(f.Dim).Label)
}

// results are the readings for which a supervisor signs: refrigerant, tightness and
// dryness, the running unit. What was not measured is told so.
func (b *book) results() (out [][2]string) {
	amount := func(name string, k record.Key) string {
		e, ok := b.job.Entry(k)
		if !ok || e.Value == "" {
			return name + " not entered"
		}
		return name + " " + strings.TrimSpace(e.Value+" "+e.Unit)
	}
	gas := []string{amount("recovered", record.Recovered), amount("weighed in", record.WeighedIn)}
	if t := b.job.Text(record.Trimmed); t != "" {
		gas = append(gas, amount("trimmed by", record.Trimmed))
	}
	out = append(out, [2]string{"Refrigerant", strings.Join(gas, ", ")})
	for _, l := range []struct {
		name string
		keys [][2]string
	}{{"Tight and dry", [][2]string{{"pressure_hold", "nitrogen hold"}, {"vacuum_final", "vacuum at the start of the hold"}, {"vacuum_hold", "at its end"}, {"vacuum_word", "isolated vacuum's rise"}}},
		{"Running", [][2]string{{"subcooling", "subcooling"}, {"superheat", "superheat"}, {"superheat_error", "superheat less its target"}, {"run_current", "compressor current"},
			{"supply_voltage", "supply"}, {"delivered", "cooling over the rating"}}}} {
		var order []assess.Verdict
		said := map[assess.Verdict][]string{}
		measured := false
		for _, k := range l.keys {
			f, ok := b.rep.Find(k[0])
			if !ok || k[0] == "superheat_error" && !f.Measured { // of a valve's unit there is none
				continue
			}
			measured = measured || f.Measured
			t := k[1]
			if f.Measured {
				t += " " + b.figure(f)
				if w := b.limitWords(f); w != "" {
					t += " (" + w + ")"
				}
			}
			if said[f.Verdict] == nil {
				order = append(order, f.Verdict)
			}
			said[f.Verdict] = append(said[f.Verdict], t)
		}
		var parts []string
		for _, v := range order {
			parts = append(parts, capital(string(v)+": "+strings.Join(said[v], "; ")))
		}
		text := strings.Join(parts, " ")
		if !measured {
			text = "nothing measured"
		}
		out = append(out, [2]string{l.name, text})
	}
	return out
}

// undone names the steps that are not done, Hand-over itself left out.
func (b *book) undone() (names []string) {
	for _, s := range b.rep.Steps {
		if s.Step != record.HandOver && !s.Otherwise && s.Word != assess.Done && s.Word != assess.DoneReserved {
			info, _ := s.Step.Info()
			names = append(names, info.Title)
		}
	}
	return names
}

func (f *front) done() {
	f.heading(1, frontLast, "What was done")
	f.row++
	lines := frontLines[f.tight].done
	entered := func(k record.Key) string {
		if t := f.b.job.Text(k); t != "" {
			return t
		}
		return "not entered"
	}
	f.wide("Work done", entered(record.WorkDone), lines)
	f.wide("Left open", entered(record.OpenConditions), lines)
	for _, l := range f.b.results() {
		f.wide(l[0], l[1], lines)
	}
	steps := map[assess.Progress][]string{}
	for _, s := range f.b.rep.Steps {
		info, _ := s.Step.Info()
		steps[s.Word] = append(steps[s.Word], info.Title)
	}
	if f.tight == 0 { // there is room: what else the second page would say
		f.roomy()
		return
	}
	var said []string
	for _, p := range []assess.Progress{assess.Open, assess.Held, assess.Ready, assess.NotYet, assess.DoneReserved, assess.Done} {
		if len(steps[p]) > 0 {
			said = append(said, wordsOf[p]+": "+strings.Join(steps[p], ", "))
		}
	}
	f.wide("Steps", strings.Join(said, "; "), lines)
}

// wordsOf says what the words for a step's state mean.
var wordsOf = map[assess.Progress]string{assess.Open: "open (something is missing or outside)", assess.Held: "held (waits for another)",
	assess.Ready: "not begun", assess.NotYet: "not yet (another comes first)", assess.DoneReserved: "done with reservations", assess.Done: "done"}

// roomy tells what was done and what is open in full.
func (f *front) roomy() {
	for _, l := range f.b.doneInFull() {
		f.wide(l[0], l[1], 6)
	}
	if open := f.b.openWork(); len(open) > 0 {
		f.heights[f.row] = 6
		f.row++
		f.heading(1, frontLast, "Steps that are not done, or done with reservations")
		f.row++
		for _, l := range open {
			f.wide(l[0], l[1], 6)
		}
	}
}
