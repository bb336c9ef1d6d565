package section

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/like"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// takenGroup is what of a group comes from an earlier job, to be compared with what
// is here.
type takenGroup struct {
	Name, From string
	Lines      []string
	Here       string // what the key says that it is compared with
	On         bool   // with it the step lacks nothing: the key goes on, and says so
}

// taken lists what comes from an earlier job and is not confirmed, each group with a
// key that enters it and one that lets it go.
func taken(p *Pane) *Section {
	return listed(p, "taken over",
		func(ctx context.Context, in Input) []takenGroup { return takenOf(ctx, p, in) },
		func(body *fyne.Container, gs []takenGroup) {
			for _, g := range gs {
				p.takenKeys(body, g)
			}
		})
}

func (p *Pane) takenKeys(body *fyne.Container, g takenGroup) {
	body.Add(widget.NewHeading(g.Name + ", from job " + g.From + ": not confirmed"))
	for _, l := range g.Lines {
		body.Add(widget.NewWords(l, theme.Small+0.5, false, theme.Ink))
	}
	act := func(do func(j *record.Job, g like.Group) error) func() {
		return func() {
			p.Leave()
			p.Change(func(j *record.Job) { do(j, like.Find(j, p.Info.Step, g.Name)) }) // what cannot be entered stays, with the reason
			p.LeadOn()
		}
	}
	words, on := "Compared: "+g.Here, func() {}
	if g.On {
		words, on = words+", and on to the next step", p.WhenDone
	}
	confirm := act(func(j *record.Job, g like.Group) error { return like.Confirm(j, g, p.Now(), p.Person()) })
	yes := widget.NewTap(words, func() {
		confirm()
		on()
	})
	yes.Strong, yes.Px = true, theme.Small+0.5
	body.Add(yes)
	no := widget.NewTap("Not so here: leave "+strings.ToLower(g.Name)+" empty", act(like.Forget))
	no.Px = theme.Small + 0.5
	body.Add(no)
}

func takenOf(ctx context.Context, p *Pane, in Input) (out []takenGroup) {
	j := in.Job
	for _, g := range like.Open(j) {
		if g.Step != p.Info.Step {
			continue
		}
		t := takenGroup{Name: g.Name, From: g.From}
		switch g.Name {
		case like.Instruments:
			t.Lines, t.Here = like.Tools(g), "these are in my hands"
		case like.Unit:
			t.Lines, t.Here = []string{"The unit as it was drawn there, device by device. Once entered, the page Unit shows in what it differs from the catalogue's."}, "wired as this one"
		case like.Controls:
			t.Lines, t.Here = append(fieldLines(p, g), answers(ctx, p, in, g)...), "the same controls, and the same answers here"
		default:
			t.Lines, t.Here = fieldLines(p, g), "all as it stands here"
		}
		for _, d := range g.Drafts {
			if strings.Contains(d.Reason, "cannot be entered") {
				t.Lines = append(t.Lines, Sentence(d.Reason))
			}
		}
		out = append(out, t)
	}
	if len(out) == 1 {
		out[0].On = lastLack(in, like.Find(j, p.Info.Step, out[0].Name))
	}
	return out
}

// lastLack tells whether a group is all that its step lacks: of what it is not done
// without, and of what most jobs have.
func lastLack(in Input, g like.Group) bool {
	fills := func(key string) bool {
		return slices.ContainsFunc(g.Drafts, func(d record.Draft) bool { return d.Key.String() == key })
	}
	r, err := in.Shown.Report()
	if err != nil {
		return false
	}
	for _, s := range r.Steps {
		for _, m := range s.Left {
			if s.Step == g.Step && !fills(m.Key) {
				return false
			}
		}
	}
	for _, k := range usual {
		if k.Field().Step == g.Step && in.Job.Text(k) == "" && !fills(k.String()) {
			return false
		}
	}
	return g.Step == record.Intake // elsewhere more is touched after it
}

func fieldLines(p *Pane, g like.Group) (lines []string) {
	for _, d := range g.Drafts {
		if _, plan := record.PlanName(d.Key); plan {
			continue
		}
		f := d.Key.Field()
		value := strings.TrimSpace(d.Value + " " + unitLabel(f, d.Unit))
		if d.Key == record.OldControls {
			if u, err := netlist.Load(d.Value); err == nil {
				value = u.Title
			}
		}
		if f.Kind == record.Note && len(value) > 80 {
			value = strings.ToValidUTF8(value[:80], "") + "..."
		}
		lines = append(lines, f.Label+": "+value)
	}
	return lines
}

// answers are the answers in the planner's words, as far as the unit here raises its
// questions.
func answers(ctx context.Context, p *Pane, in Input, g like.Group) (lines []string) {
	would := in.Job.Clone() // the unit here, were all of it confirmed: its questions are to be read beside the answers
	for _, o := range like.Open(in.Job) {
		if o.Step == record.Wiring {
			like.Confirm(would, o, in.Now, "")
		}
	}
	made := wiringOf(p).would.of(ctx, planKey(would), would)
	other := 0
	for _, d := range g.Drafts {
		name, plan := record.PlanName(d.Key)
		if !plan {
			continue
		}
		line := ""
		if made.Plan != nil && made.Result != nil {
			line = answer(made.Plan, name, d.Value)
		}
		if line == "" {
			other++
			continue
		}
		lines = append(lines, line)
	}
	if other > 0 {
		lines = append(lines, fmt.Sprintf("%d answers to questions that the unit here does not raise, or does not raise yet.", other))
	}
	return lines
}

func answer(made *plan.Plan, name, value string) string {
	for _, d := range made.Result.Decisions {
		if d.Key != name {
			continue
		}
		for _, o := range d.Options {
			if o.Value == value {
				return d.Question + " " + o.Words
			}
		}
	}
	return ""
}
