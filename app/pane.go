package app

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// pane is one step: its fields, and what is found from them.
type pane struct {
	b    *Bench
	info record.StepInfo
	rows []*widget.Row

	side   *widget.Scroller // the fields
	centre *widget.Scroller // findings and pictures; nil when the step has none

	state    *widget.Words
	summary  *widget.Choose
	strips   map[string]*widget.Strip
	view     *widget.View
	list     *fyne.Container // strips under their headings
	keys     string          // findings in the list, to tell when it must be rebuilt
	heads    []headed
	filter   string
	exporter *widget.Tap
	said     *widget.Words // answer to an export
	wasState string
	plan     *wiringPart
	electric *electricPart
	causes   *causesPart
	logs     *logsPart
	mapped   *mapPart
	gates    []*gate
	folds    []*fold
	fluid    *widget.Notice // what to know of the refrigerant

	held  int  // changes under way, after which it is laid out
	asked bool // one of them wants it
}

type headed struct {
	head   *widget.Heading
	strips []*widget.Strip
}

// hasFindings are the steps whose middle shows findings. Hand-over shows those
// of every step.
func (b *Bench) findings(s record.Step) []assess.Finding {
	if b.report == nil {
		return nil
	}
	if s == record.HandOver {
		return b.report.Findings
	}
	return b.report.Of(s)
}

func (b *Bench) newPane(info record.StepInfo) *pane {
	p := &pane{b: b, info: info, strips: map[string]*widget.Strip{}}
	head := p.header()
	fields := widget.NewColumns(350, 9, 12)
	group := ""
	var shut *gate
	var rare []*widget.Row
	ends := func() { // the group's seldom fields wait behind one key
		if len(rare) > 0 {
			f := p.fold(rare)
			fields.Add(f.tap)
			p.folds = append(p.folds, f)
			if shut != nil {
				shut.fold = f
			}
		}
		rare = nil
	}
	for _, f := range record.Of(info.Step) {
		if f.Group != group {
			ends()
			group = f.Group
			fields.Add(widget.NewHeading(group))
			if shut = p.gate(group); shut != nil {
				p.gates = append(p.gates, shut)
				fields.Add(shut.notice)
				fields.Add(shut.tap)
				fields.Add(shut.said)
			}
		}
		if f.Key == record.OldControls || f.Key == gated[f.Group].key {
			continue // chosen from the list in the middle; entered by acknowledging
		}
		r := p.row(f)
		fields.Add(r)
		if f.Key == record.Refrigerant {
			p.fluid = widget.NewNotice("caution", theme.Warning, nil, nil)
			p.fluid.OnResize = p.reflow
			p.fluid.Hide()
			fields.Add(p.fluid)
		}
		switch {
		case f.Seldom:
			rare = append(rare, r)
		case shut != nil:
			shut.rows = append(shut.rows, r)
		}
	}
	ends()
	for _, f := range p.folds {
		f.apply()
	}
	for _, g := range p.gates {
		g.apply()
	}
	if info.Step == record.Intake {
		p.instruments(fields)
	}
	if info.Step == record.Running {
		fields.Add(widget.NewTap("Import a log", b.importLog))
	}
	if !b.middle(info.Step) {
		fields.Layout.(*widget.Columns).Pad = 0
		p.side = widget.NewScroller(widget.NewColumn(6, 14, head, fields))
		return p
	}
	p.side = widget.NewScroller(fields)
	p.list = widget.NewColumn(0, 0)
	body := widget.NewColumn(10, 14, head)
	p.summary = widget.NewChoose(nil, "", func(word string) {
		p.filter = word
		p.sift()
	})
	p.summary.Toggle, p.summary.Px = true, theme.Small+0.5
	body.Add(p.summary)
	switch info.Step {
	case record.Running, record.CloseUp:
		p.view = p.newView(0.42)
		body.Add(p.view)
	case record.Wiring:
		p.wiring(body, fields)
	case record.HandOver:
		p.handover(body)
	}
	body.Add(p.list)
	switch info.Step {
	case record.Electrical:
		p.electrical(body)
	case record.Running:
		p.overMap(body)
		p.ranking(body)
		p.logging(body)
	}
	p.centre = widget.NewScroller(body)
	return p
}

// middle tells whether the step has something to show beside its fields.
func (b *Bench) middle(s record.Step) bool {
	if s == record.Running || s == record.Wiring || s == record.Electrical || s == record.HandOver {
		return true
	}
	return len(b.findings(s)) > 0
}

// newView makes a view in the middle, its height by its width.
func (p *pane) newView(ratio float32) *widget.View {
	v := widget.NewView(nil)
	v.Ratio, v.Work.Now = ratio, p.b.assessing.Now
	v.Page = func() *widget.Scroller { return p.centre }
	return v
}

func (p *pane) header() fyne.CanvasObject {
	c := widget.NewColumn(4, 0, widget.NewWords(p.info.Title, theme.Title, true, theme.Ink),
		widget.NewWords(p.info.Purpose, theme.Small+0.5, false, theme.Muted))
	p.state = widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	c.Add(p.state)
	if len(p.info.Cautions) > 0 {
		var lines, small []string
		for _, k := range p.info.Cautions {
			lines, small = append(lines, k.Text), append(small, k.Source)
		}
		n := widget.NewNotice("caution", theme.Warning, lines, small)
		n.OnResize = p.reflow
		c.Add(n)
	}
	return c
}

func (p *pane) row(f record.Field) *widget.Row {
	pf := p.b.show.field(f)
	pf.Tools = p.b.toolsFor(f)
	r := widget.NewRow(pf)
	r.Field.Tool = anyTool
	if t := p.b.tools[f.Class]; t != "" {
		r.Field.Tool = t
	}
	r.OnCommit = func(r *widget.Row, text, unit string) error {
		return p.b.commit(f.Key, text, unit, toolID(r.Field.Tool))
	}
	r.OnTyping = func(r *widget.Row, text, unit string) { p.b.typing(f.Key, text, unit, toolID(r.Field.Tool)) }
	r.OnTool = func(r *widget.Row, tool string) {
		if f.Class != "" {
			p.b.tools[f.Class] = tool
		}
		if e, ok := p.b.job.Entry(f.Key); ok {
			p.b.commit(f.Key, e.Value, unitLabel(f, e.Unit), toolID(tool))
			p.refill()
		}
	}
	r.OnFocus = p.b.focus
	r.OnMove = p.b.move
	r.OnResize = p.reflow
	p.rows = append(p.rows, r)
	return r
}

// once does what changes several things of the pane, and lays it out once at the
// end if any of them asked for it.
func (p *pane) once(do func()) {
	p.held++
	do()
	if p.held--; p.held == 0 && p.asked {
		p.reflow()
	}
}

func (p *pane) reflow() {
	if p.asked = p.held > 0; p.asked {
		return
	}
	p.side.Reflow()
	if p.centre == nil {
		return
	}
	if d := p.b.desk; d.pane == p && upright(d.Size()) {
		d.layout(d.Size()) // how the two share the height depends on what they hold
	}
	p.centre.Reflow()
}

// reveal brings an entry into view, and beside it the first strip that depends
// on it: the eye need not look for what the finger moves.
func (p *pane) reveal(r *widget.Row) {
	p.side.Reveal(r)
	if p.centre == nil || p.b.report == nil {
		return
	}
	for _, f := range p.b.findings(p.info.Step) {
		for _, i := range f.Inputs {
			if s := p.strips[f.Key]; i.Key == r.Field.Key && s != nil && s.Visible() {
				p.centre.Reveal(s)
				return
			}
		}
	}
}

// refill puts what the record holds into the rows.
func (p *pane) refill() { p.once(p.refillRows) }

func (p *pane) refillRows() {
	problems := map[record.Key]string{}
	if p.b.report != nil {
		for _, q := range p.b.report.Problems {
			if problems[q.Key] == "" {
				problems[q.Key] = sentence(q.Text)
			}
		}
	}
	for _, r := range p.rows {
		f, err := record.ByName(r.Field.Key)
		if err != nil {
			continue
		}
		if d, ok := p.b.job.Draft(f.Key); ok {
			note := "not entered"
			if e, ok := p.b.job.Entry(f.Key); ok {
				note = "not entered; " + strings.TrimSpace(e.Value+" "+unitLabel(f, e.Unit)) + " stands"
			}
			r.SetValue(d.Value, unitLabel(f, d.Unit), sentence(d.Reason), note)
			continue
		}
		e, ok := p.b.job.Entry(f.Key)
		if !ok {
			r.SetValue("", "", "", "")
			continue
		}
		note := ""
		if f.Kind == record.Number && f.Origin == record.Measured {
			note = e.Time.Format("15:04") // by the clock of where it was read
			if e.Instrument != "" {
				note += ", " + e.Instrument
			} else if e.By != "" {
				note += ", " + e.By
			}
		}
		r.SetValue(e.Value, unitLabel(f, e.Unit), problems[f.Key], note)
		if e.Instrument != "" {
			r.Field.Tool = e.Instrument
		}
	}
	for _, f := range p.folds {
		if f.apply() {
			p.reflow()
		}
	}
}

// update paints the newest report.
func (p *pane) update() { p.once(p.paint) }

func (p *pane) paint() {
	p.refill()
	for i, s := range p.b.stages() {
		if record.Steps[i].Step != p.info.Step {
			continue
		}
		text := "This step is " + s.State.Word()
		if s.Why != "" {
			text += ": " + s.Why
		}
		text += "."
		if s.State == widget.Ready {
			text = ""
		}
		p.state.Set(text)
		if text == "" {
			p.state.Hide()
		} else {
			p.state.Show()
		}
		if text != p.wasState {
			p.wasState = text
			p.reflow()
		}
	}
	p.paintFluid()
	for _, g := range p.gates {
		g.apply()
	}
	if p.centre == nil {
		if p.b.middle(p.info.Step) && p.b.panes[p.b.at] == p {
			// The first finding of a step turns up: it needs a middle now.
			delete(p.b.panes, p.b.at)
			n := p.b.pane()
			n.update()
			p.b.desk.show(n)
		}
		return
	}
	if p.plan != nil {
		p.plan.update()
	}
	if p.electric != nil {
		p.electric.update()
	}
	if p.causes != nil {
		p.causes.update()
	}
	if p.mapped != nil {
		p.mapped.update()
	}
	if p.logs != nil {
		p.logs.update()
	}
	if p.view != nil {
		p.view.Set(p.b.pics[p.info.Step])
		// The plane is there from the start; the rise once there is one.
		show := p.info.Step == record.Running || !p.b.pics[p.info.Step].Empty()
		if show != p.view.Visible() {
			if show {
				p.view.Show()
			} else {
				p.view.Hide()
			}
			p.reflow()
		}
	}

	fs := p.b.findings(p.info.Step)
	var keys []string
	for _, f := range fs {
		keys = append(keys, f.Key)
	}
	if k := strings.Join(keys, " "); k != p.keys || p.list.Objects == nil {
		p.keys = k
		p.build(fs)
	}
	for _, f := range fs {
		s := p.strips[f.Key]
		was := s.HeightFor(fyne.Max(s.Size().Width, 300))
		s.Set(p.b.show.finding(f))
		if was != s.HeightFor(fyne.Max(s.Size().Width, 300)) {
			p.reflow()
		}
	}
	p.count(fs)
	p.sift()
}

// paintFluid says what has to be known of the refrigerant before a valve is
// opened; the sources are in the small print.
func (p *pane) paintFluid() {
	if p.fluid == nil {
		return
	}
	var lines, small []string
	if f, err := fluid.Get(p.b.job.Text(record.Refrigerant)); err == nil {
		i := f.Info()
		oils := strings.Join(i.Oils, " or ")
		head := fmt.Sprintf("%s: %s, %s oil.", i.Name, i.Class, oils)
		if d := units.Preferred(units.TempDiff, p.b.show.system); d.Span(i.Glide) >= 0.05 {
			head = fmt.Sprintf("%s: %s, %s oil, glides %.1f %s at one atmosphere.", i.Name, i.Class, oils, d.Span(i.Glide), d.Label)
		}
		lines, small = append(lines, head), append(small, noteSource(i.ClassNote)+"; "+noteSource(i.OilNote))
		p.fluid.Shape, p.fluid.Tone = "unjudged", theme.Muted
		if i.Flammable {
			p.fluid.Shape, p.fluid.Tone = "caution", theme.Warning
			lines, small = append(lines, i.Caution.Text), append(small, noteSource(i.Caution))
		}
		for _, n := range i.Restrictions {
			small[0] += ". " + strings.TrimSuffix(n.Text, ".") + ": " + noteSource(n)
		}
	}
	if strings.Join(lines, "|") == strings.Join(p.fluid.Lines, "|") {
		return
	}
	p.fluid.Lines, p.fluid.Small = lines, small
	if lines == nil {
		p.fluid.Hide()
	} else {
		p.fluid.Show()
	}
	p.fluid.Refresh()
	p.reflow()
}

var noteMarks = map[string]string{"S": "read in it", "S2": "read in a page that restates it", "M": "from memory", "P": "common practice, no source"}

func noteSource(n fluid.Note) string {
	t := n.Source
	if m := noteMarks[n.Mark]; m != "" && !strings.Contains(t, m) {
		t += " (" + m + ")"
	}
	return t
}

// build makes the strips, each group under its heading.
func (p *pane) build(fs []assess.Finding) {
	widget.Refill(p.list, func() { p.fillList(fs) })
	p.reflow()
}

func (p *pane) fillList(fs []assess.Finding) {
	p.heads = nil
	old := p.strips
	p.strips = map[string]*widget.Strip{}
	group := ""
	for _, f := range fs {
		name := f.Group
		if p.info.Step == record.HandOver {
			if i, ok := f.Step.Info(); ok {
				name = i.Title + ": " + f.Group
			}
		}
		if name != group {
			group = name
			h := widget.NewHeading(group)
			p.list.Add(h)
			p.heads = append(p.heads, headed{head: h})
		}
		s := old[f.Key]
		if s == nil {
			s = widget.NewStrip(p.b.show.finding(f))
			s.OnResize = p.reflow
		}
		p.strips[f.Key] = s
		p.list.Add(s)
		p.heads[len(p.heads)-1].strips = append(p.heads[len(p.heads)-1].strips, s)
	}
}

var tally = []struct {
	v     widget.Verdict
	word  string
	glyph string
}{
	{widget.Outside, "outside", "outside"}, {widget.TooClose, "too close", "close"}, {widget.Within, "within", "within"},
	{widget.NotJudged, "not judged", "unjudged"}, {widget.NotMeasured, "not measured", "absent"},
}

// count shows how many findings there are of each verdict; a touch on one shows
// only those.
func (p *pane) count(fs []assess.Finding) {
	n := map[widget.Verdict]int{}
	for _, f := range fs {
		n[verdicts[f.Verdict]]++
	}
	var options, glyphs []string
	chosen := ""
	for _, t := range tally {
		if n[t.v] > 0 {
			o := fmt.Sprintf("%d %s", n[t.v], t.word)
			if strings.HasSuffix(p.filter, " "+t.word) {
				chosen = o
			}
			options, glyphs = append(options, o), append(glyphs, t.glyph)
		}
	}
	p.filter = chosen
	if strings.Join(options, "|") != strings.Join(p.summary.Options, "|") {
		was := p.summary.HeightFor(fyne.Max(300, p.summary.Size().Width))
		p.summary.Glyphs = glyphs
		p.summary.SetOptions(options, chosen)
		if was != p.summary.HeightFor(fyne.Max(300, p.summary.Size().Width)) {
			p.reflow()
		}
	}
}

// sift hides the strips that the filter leaves out.
func (p *pane) sift() {
	want := widget.Verdict(-1)
	for _, t := range tally {
		if strings.HasSuffix(p.filter, " "+t.word) && p.filter != "" {
			want = t.v
		}
	}
	changed := false
	for _, h := range p.heads {
		any := false
		for _, s := range h.strips {
			show := want < 0 || s.Finding.Verdict == want
			any = any || show
			if show != s.Visible() {
				changed = true
				if show {
					s.Show()
				} else {
					s.Hide()
				}
			}
		}
		if any {
			h.head.Show()
		} else {
			h.head.Hide()
		}
	}
	if changed {
		p.reflow()
	}
}

// handover is the top of the last step: the workbook.
func (p *pane) handover(body *fyne.Container) {
	p.said = widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	p.said.Hide()
	go1 := widget.NewTap("Export the workbook for the supervisor", nil)
	go1.Strong = true
	p.exporter = go1
	say := func(tone theme.Tone, text string) {
		p.said.Tone = tone
		p.said.Set(text)
		p.said.Show()
		p.reflow()
	}
	go1.Do = func() {
		p.b.leave()
		say(theme.Muted, "Writing the workbook")
		p.b.Export(func(path string, err error) {
			if err != nil {
				say(theme.Bad, "Not exported: "+err.Error())
				return
			}
			say(theme.Ink, "Written: "+path)
		})
	}
	body.Add(go1)
	body.Add(p.said)
}
