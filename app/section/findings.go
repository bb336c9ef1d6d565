package section

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// firstFinding waits, on a pane without a middle, for the first finding of the
// step: it needs a middle then.
func firstFinding(p *Pane) *Section {
	return newSection("first finding", nil, Input.typed,
		func(_ context.Context, in Input) bool {
			r, err := in.Shown.Report()
			return err == nil && len(r.Of(p.Info.Step)) > 0
		},
		func(found bool) {
			if found {
				p.Remake(p)
			}
		})
}

// headed is a heading with the strips under it.
type headed struct {
	head     *widget.Heading
	strips   []*widget.Strip
	unjudged bool // below the fold
}

// sift is the choice of one verdict among the findings, which the summary offers
// and the strips follow.
type sift struct {
	word    string // of the verdict chosen, "" for all
	list    *fyne.Container
	strips  map[string]*widget.Strip
	order   []string // the keys of the strips, as they stand
	more    *widget.Tap
	open    bool // what is not judged is unfolded
	heads   []headed
	summary *widget.Choose
}

var tally = []struct {
	v     widget.Verdict
	word  string
	glyph string
}{
	{widget.Outside, "outside", "outside"}, {widget.TooClose, "too close", "close"}, {widget.Within, "within", "within"},
	{widget.NotJudged, "not judged", "unjudged"}, {widget.NotMeasured, "not measured", "absent"},
}

// summary tells how many findings there are of each verdict; a touch on one shows
// only those. It follows the strips.
func summary(p *Pane) *Section {
	p.sift.summary = widget.NewChoose(nil, "", func(option string) {
		_, p.sift.word, _ = strings.Cut(option, " ")
		p.once(p.siftStrips)
		if s := p.firstShown(); s != nil && p.Middle != nil {
			p.Middle.Reveal(s)
		}
	})
	p.sift.summary.Toggle, p.sift.summary.Px = true, theme.Small+0.5
	return fixed("summary", p.sift.summary)
}

// found is what one strip shows, under its heading.
type found struct {
	group string
	strip widget.Finding
}

// findings are the strips of the step.
func findings(p *Pane) *Section {
	return strips(p, func(r *assess.Report) []assess.Finding { return r.Of(p.Info.Step) },
		func(f assess.Finding) string { return f.Group })
}

// allFindings are the strips of every step.
func allFindings(p *Pane) *Section {
	return strips(p, func(r *assess.Report) []assess.Finding { return r.Findings },
		func(f assess.Finding) string {
			if i, ok := f.Step.Info(); ok {
				return i.Title + ": " + f.Group
			}
			return f.Group
		})
}

func strips(p *Pane, of func(*assess.Report) []assess.Finding, group func(assess.Finding) string) *Section {
	p.sift.list, p.sift.strips = widget.NewColumn(0, 0), map[string]*widget.Strip{}
	p.sift.more = widget.NewTap("", func() {
		p.sift.open = !p.sift.open
		p.once(func() {
			p.siftStrips()
			p.reflow()
		})
	})
	p.sift.more.Tail = "more"
	var s *Section
	s = newSection("findings", []fyne.CanvasObject{p.sift.list}, Input.typed,
		func(_ context.Context, in Input) []found {
			r, err := in.Shown.Report()
			if err != nil {
				return nil
			}
			s := in.present(r)
			var out []found
			for _, f := range of(r) {
				out = append(out, found{group(f), s.finding(f)})
			}
			return judgedFirst(out)
		},
		func(fs []found) { p.fillStrips(s, fs) })
	return s
}

// judgedFirst puts what is not judged below what is.
func judgedFirst(fs []found) []found {
	slices.SortStableFunc(fs, func(a, b found) int {
		rank := func(f found) int {
			if f.strip.Verdict == widget.NotJudged {
				return 1
			}
			return 0
		}
		return rank(a) - rank(b)
	})
	return fs
}

// atOnce is how many strips are made in one piece of the toolkit's thread.
const atOnce = 16

func (p *Pane) fillStrips(sec *Section, fs []found) {
	if fs == nil && p.sift.list.Objects != nil {
		return // what cannot be assessed leaves what stands; the bar says why
	}
	same := len(fs) == len(p.sift.strips) && p.sift.list.Objects != nil
	var order []string
	for _, f := range fs {
		order = append(order, f.strip.Key)
		if f.strip.Verdict == widget.NotJudged {
			order = append(order, "") // the fold
		}
		s := p.sift.strips[f.strip.Key]
		if s == nil {
			same = false
			continue
		}
		w := fyne.Max(s.Size().Width, 300)
		was := s.HeightFor(w)
		s.Set(f.strip)
		if was != s.HeightFor(w) {
			p.reflow()
		}
	}
	p.count(fs)
	if !slices.Equal(order, p.sift.order) {
		same, p.sift.order = false, order
	}
	if !same {
		old := p.sift.strips
		p.sift.heads, p.sift.strips = nil, map[string]*widget.Strip{}
		widget.Refill(p.sift.list, func() { p.addStrips(sec, fs, old) })
		p.reflow()
	}
	p.siftStrips()
}

// addStrips adds strips to the list, each group under its heading: some now, the
// rest in further pieces. Those that stood there are used again.
func (p *Pane) addStrips(sec *Section, fs []found, old map[string]*widget.Strip) {
	if len(fs) > atOnce {
		rest := fs[atOnce:]
		fs = fs[:atOnce]
		defer sec.later(p, func() {
			widget.Extend(p.sift.list, func() { p.addStrips(sec, rest, old) })
			p.siftStrips()
			p.reflow()
		})
	}
	for _, f := range fs {
		below := f.strip.Verdict == widget.NotJudged
		n := len(p.sift.heads)
		if below && (n == 0 || !p.sift.heads[n-1].unjudged) {
			p.sift.list.Add(p.sift.more)
		}
		if n == 0 || p.sift.heads[n-1].head.Text != f.group || p.sift.heads[n-1].unjudged != below {
			h := widget.NewHeading(f.group)
			p.sift.list.Add(h)
			p.sift.heads = append(p.sift.heads, headed{head: h, unjudged: below})
		}
		s := old[f.strip.Key]
		if s == nil {
			s = widget.NewStrip(f.strip)
			s.OnResize = p.reflow
		}
		p.sift.strips[f.strip.Key] = s
		p.sift.list.Add(s)
		last := &p.sift.heads[len(p.sift.heads)-1]
		last.strips = append(last.strips, s)
	}
}

func (p *Pane) count(fs []found) {
	n := map[widget.Verdict]int{}
	for _, f := range fs {
		n[f.strip.Verdict]++
	}
	var options, glyphs []string
	chosen := ""
	for _, t := range tally {
		if n[t.v] == 0 {
			continue
		}
		o := fmt.Sprintf("%d %s", n[t.v], t.word)
		if p.sift.word == t.word {
			chosen = o
		}
		options, glyphs = append(options, o), append(glyphs, t.glyph)
	}
	if chosen == "" {
		p.sift.word = ""
	}
	c := p.sift.summary
	if slices.Equal(options, c.Options) {
		return
	}
	w := fyne.Max(300, c.Size().Width)
	was := c.HeightFor(w)
	c.Glyphs = glyphs
	c.SetOptions(options, chosen)
	if was != c.HeightFor(w) {
		p.reflow()
	}
}

// siftStrips hides the strips that the choice leaves out.
func (p *Pane) siftStrips() {
	want := widget.Verdict(-1)
	for _, t := range tally {
		if t.word == p.sift.word {
			want = t.v
		}
	}
	folded := 0
	for _, h := range p.sift.heads {
		any := false
		for _, s := range h.strips {
			on := want < 0 && (!h.unjudged || p.sift.open) || s.Finding.Verdict == want
			if h.unjudged {
				folded++
			}
			any = any || on
			if on != s.Visible() {
				show(s, on)
				p.reflow()
			}
		}
		show(h.head, any)
	}
	text := fmt.Sprintf("%d not judged: show", folded)
	p.sift.more.Tail = "more"
	if p.sift.open {
		text = fmt.Sprintf("%d not judged: fold away", folded)
		p.sift.more.Tail = "less"
	}
	p.sift.more.Set(text, false)
	show(p.sift.more, want < 0)
}

// firstShown is the first strip of the verdict chosen, nil where none is chosen.
func (p *Pane) firstShown() *widget.Strip {
	for _, h := range p.sift.heads {
		for _, s := range h.strips {
			if p.sift.word != "" && s.Visible() {
				return s
			}
		}
	}
	return nil
}

// stageOf is a step as the route shows it.
func stageOf(r *assess.Report, s record.StepInfo) widget.Stage {
	out := widget.Stage{Title: s.Title, State: widget.NotYet}
	if r == nil {
		return out
	}
	for _, st := range r.Steps {
		if st.Step == s.Step {
			out.State, out.Why = widgetStates[st.Word], st.Why
		}
	}
	return out
}

// Stages is the route as a report has it; nil is no report yet.
func Stages(r *assess.Report) []widget.Stage {
	out := make([]widget.Stage, len(record.Steps))
	for i, s := range record.Steps {
		out[i] = stageOf(r, s)
	}
	return out
}
