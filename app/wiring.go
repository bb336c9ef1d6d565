package app

import (
	"fmt"

	"fyne.io/fyne/v2"

	"retrostage/app/part"
	"retrostage/app/skin"
	"retrostage/reports/record"
)

// wiringPlan is what becomes of the old unit's controls, as the pane shows it.
type wiringPlan struct {
	Refused   string
	Decisions []decision
	Controls  []control
	Steps     []string
}

type control struct {
	Label, Action, Reason, Source, Caution string
	Marked                                 bool
}

type decision struct {
	Key, Question, Chosen, Caution, Source string
	Answered                               bool
	Values, Words                          []string
}

// catalogue lists the old units to choose from, name and title; plan makes the
// plan for one. They are variables so that the pane can be tried without them.
var (
	catalogue = func() (names, titles []string) { return nil, nil }
	planFor   = func(*record.Job) (*wiringPlan, error) { return nil, nil }
)

func oldUnits() []string { n, _ := catalogue(); return n }

// actionTones: what goes or is new stands out from what stays.
var actionTones = map[string]part.Tone{
	"keep": part.Good, "move": part.Doubt, "set": part.Doubt, "replace": part.Accent, "add": part.Accent, "new": part.Accent, "remove": part.Bad,
}

// wiringPart is the middle of the wiring pane.
type wiringPart struct {
	p    *pane
	body *fyne.Container
	made string // of which record the plan shown was made
	work part.Latest
}

func (p *pane) wiring(body *fyne.Container) {
	p.plan = &wiringPart{p: p, body: part.NewColumn(6, 0)}
	p.plan.work.Now = p.b.assessing.Now
	body.Add(p.plan.body)
}

// update makes the plan anew when the record it rests on changed.
func (w *wiringPart) update() {
	j := w.p.b.job
	key := ""
	for _, f := range record.Of(record.Wiring) {
		key += j.Text(f.Key) + "|"
	}
	for _, k := range []string{"rated_voltage", "new_rla", "new_lra", "new_voltage", "cap_rating", "cap_voltage", "contactor_fla", "contactor_lra"} {
		key += j.Text(k) + "|"
	}
	for _, e := range j.Entries {
		if _, ok := record.PlanName(e.Key); ok {
			key += e.Key + "=" + e.Value + "|"
		}
	}
	key += fmt.Sprint(len(j.Unit))
	if key == w.made {
		return
	}
	w.made = key
	c := j.Clone()
	w.work.Ask(func() func() {
		plan, err := planFor(c)
		return func() { w.show(plan, err) }
	})
}

func (w *wiringPart) show(plan *wiringPlan, err error) {
	w.body.RemoveAll()
	names, titles := catalogue()
	old := w.p.b.job.Text("old_controls")
	w.body.Add(part.NewHeading("The old unit's controls: the nearest of these"))
	for i, n := range names {
		t := part.NewTap(titles[i], func() {
			w.p.b.commit("old_controls", n, "", "")
			w.p.update()
		})
		t.On = n == old
		w.body.Add(t)
	}
	switch {
	case err != nil:
		w.body.Add(part.NewNotice("outside", part.Bad, []string{sentence(err.Error())}, nil))
	case plan == nil:
		w.body.Add(part.NewWords("Choose one to see what becomes of each control.", skin.Text, false, part.Muted))
	case plan.Refused != "":
		w.body.Add(part.NewNotice("outside", part.Bad, []string{"No plan: " + plan.Refused}, nil))
	default:
		w.fill(plan)
	}
	w.p.centre.Reflow()
}

func (w *wiringPart) fill(plan *wiringPlan) {
	if len(plan.Decisions) > 0 {
		w.body.Add(part.NewHeading("To be decided"))
	}
	for _, d := range plan.Decisions {
		q := d.Question
		if !d.Answered {
			q += "  (not answered: the first is assumed)"
		}
		w.body.Add(part.NewWords(q, skin.Text-1, true, part.Ink))
		chosen := ""
		for i, v := range d.Values {
			if v == d.Chosen {
				chosen = d.Words[i]
			}
		}
		w.body.Add(part.NewChoose(d.Words, chosen, func(word string) {
			for i, t := range d.Words {
				if t == word {
					w.p.b.commit(record.PlanKey(d.Key), d.Values[i], "", "")
					w.p.update()
				}
			}
		}))
		if d.Caution != "" {
			w.body.Add(part.NewNotice("caution", part.Doubt, []string{d.Caution}, []string{d.Source}))
		}
	}
	count := map[string]int{}
	for _, c := range plan.Controls {
		count[c.Action]++
	}
	w.body.Add(part.NewHeading(fmt.Sprintf("What becomes of each control: %d parts", len(plan.Controls))))
	for _, c := range plan.Controls {
		var small []string
		if c.Caution != "" {
			small = append(small, "Caution: "+c.Caution)
		}
		if c.Source != "" {
			small = append(small, "Source: "+c.Source)
		}
		title := c.Label
		if c.Marked {
			title += " (departs from the unit as built: to be signed for)"
		}
		w.body.Add(part.NewCard(sentence(title), c.Action, sentence(c.Reason)+".", actionTones[c.Action], small...))
	}
	if len(plan.Steps) > 0 {
		w.body.Add(part.NewHeading("In this order"))
		for i, s := range plan.Steps {
			w.body.Add(part.NewWords(fmt.Sprintf("%d.  %s", i+1, s), skin.Text-1, false, part.Ink))
		}
	}
}
