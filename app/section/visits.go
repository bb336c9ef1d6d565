package section

import (
	"context"
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/record"
)

// visitWords is which visit it is, and which there were.
type visitWords struct {
	Now   string
	Lines []string
}

func visitName(v record.Visit) string {
	if v.Name == "" {
		return "before any visit was begun"
	}
	return fmt.Sprintf("%s, %s, %s", v.Date, v.Kind, v.Person)
}

// visits tells the visits of the job, and begins one.
func visits(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	begin := widget.NewTap("Begin another visit", func() { p.beginVisit() })
	begin.Px = theme.Small + 0.5
	return newSection("visits", []fyne.CanvasObject{body, begin}, Input.entered,
		func(_ context.Context, in Input) (w visitWords) {
			for _, v := range in.Job.Visits() {
				w.Lines = append(w.Lines, visitName(v))
			}
			if v, ok := in.Job.Visit(); ok {
				w.Now = v.Name
			} else {
				w.Lines = nil
			}
			return w
		},
		func(w visitWords) {
			widget.Refill(body, func() {
				if len(w.Lines) == 0 {
					return
				}
				body.Add(widget.NewHeading("Visits"))
				for n, l := range w.Lines {
					body.Add(widget.NewWords(l, theme.Small+0.5, n == len(w.Lines)-1, theme.Ink))
				}
			})
			p.reflow()
		}).alone()
}

// beginVisit asks what the visit is for, and when.
func (p *Pane) beginVisit() {
	p.Sheet(520, 420, func(shut func()) fyne.CanvasObject {
		kind := ""
		date, who := toolkit.NewEntry(), toolkit.NewEntry()
		date.SetText(p.Now().Format(time.DateOnly))
		who.SetText(p.Person())
		who.SetPlaceHolder(words.Say("reference of who comes"))
		said := widget.NewWords("", theme.Small+0.5, false, theme.Bad)
		var page *widget.Scroller
		begin := widget.NewTap("Begin this visit", func() {
			err := record.New("try").BeginVisit(kind, date.Text, who.Text, p.Now()) // seen here, before the job is touched
			if kind == "" {
				err = fmt.Errorf("say what the visit is for")
			}
			if err == nil {
				p.Change(func(j *record.Job) { err = j.BeginVisit(kind, date.Text, who.Text, p.Now()) })
			}
			if err != nil {
				said.Set(Sentence(err.Error()))
				page.Reflow()
				return
			}
			shut()
			p.Remake(nil)
		})
		begin.Strong = true
		page = widget.NewScroller(widget.NewColumn(6, 12, widget.NewWords("Another visit to this job", theme.Figure, true, theme.Ink),
			widget.NewWords("What is entered from here on is of it. What was read before stays; a part of the work that is done again is begun anew at its own step.", theme.Small+0.5, false, theme.Muted),
			widget.NewChoose(record.VisitKinds, "", func(k string) { kind = k }), date, who, said, begin, widget.NewTap("Back to the job", shut)))
		return page
	})
}

// setWords is a set of readings of earlier visits.
type setWords struct {
	Name    string
	Stands  int // of its values that an earlier visit left and that stand
	Earlier []earlierSet
}

type earlierSet struct {
	Visit string
	Rows  []string
}

// doneAgain are the sets that a step has fields of.
func doneAgain(step record.Step) (out []record.Set) {
	for _, s := range record.Sets {
		for _, f := range s.Fields() {
			if f.Step == step {
				out = append(out, s)
				break
			}
		}
	}
	return out
}

// again lists the sets of the step that this visit can begin anew, and what earlier
// visits left in them.
func again(p *Pane) *Section {
	return listed(p, "done again",
		func(_ context.Context, in Input) (out []setWords) {
			now, ok := in.Job.Visit()
			if !ok {
				return nil
			}
			for _, s := range doneAgain(p.Info.Step) {
				w := setWords{Name: s.Name}
				for _, f := range s.Fields() {
					if e, there := in.Job.Entry(f.Key); there && e.Visit != now.Name {
						w.Stands++
					}
				}
				vs, of := in.Job.Earlier(s)
				for _, v := range vs {
					e := earlierSet{Visit: visitName(v)}
					for _, r := range of[v.Name] {
						e.Rows = append(e.Rows, r.Field.Label+": "+strings.TrimSpace(r.Entry.Value+" "+unitLabel(r.Field, r.Entry.Unit)))
					}
					w.Earlier = append(w.Earlier, e)
				}
				if len(w.Earlier) > 0 {
					out = append(out, w)
				}
			}
			return out
		},
		func(body *fyne.Container, sets []setWords) {
			for _, s := range sets {
				p.setKeys(body, s)
			}
		})
}

func (p *Pane) setKeys(body *fyne.Container, s setWords) {
	if s.Stands > 0 {
		tap := widget.NewTap(fmt.Sprintf("Done again in this visit: %s (%d values of before make room)", s.Name, s.Stands), func() {
			p.Leave()
			p.Change(func(j *record.Job) { j.Again(s.Name, p.Person(), p.Now()) }) // it is offered only where it can be
			p.Remake(p)
		})
		tap.Px = theme.Small + 0.5
		body.Add(tap)
	}
	earlier := widget.NewTap("Look at earlier visits: "+s.Name, func() {
		p.Sheet(560, 560, func(shut func()) fyne.CanvasObject {
			col := widget.NewColumn(4, 12, widget.NewWords(Sentence(s.Name), theme.Figure, true, theme.Ink))
			for _, e := range s.Earlier {
				col.Add(widget.NewHeading(e.Visit))
				for _, r := range e.Rows {
					col.Add(widget.NewWords(r, theme.Small+0.5, false, theme.Ink))
				}
			}
			col.Add(widget.NewTap("Back to the step", shut))
			return widget.NewScroller(col)
		})
	})
	earlier.Px = theme.Small + 0.5
	body.Add(earlier)
}

// baselineWords is the running check of this visit beside that of an earlier one.
type baselineWords struct {
	Visit string
	Rows  []widget.TableRow
}

// baseline holds this visit's readings beside the ones the unit was handed over with.
func baseline(p *Pane) *Section {
	return listed(p, "baseline",
		func(_ context.Context, in Input) (w baselineWords) {
			base, cs := in.Job.Baseline()
			if len(cs) == 0 {
				return w
			}
			w.Visit = visitName(base)
			for _, c := range cs {
				unit := unitLabel(c.Field, c.Was.Unit)
				row := widget.TableRow{Tone: theme.Muted, Cells: []string{c.Field.Label, c.Was.Value + " " + unit, "not read", ""}}
				if c.Now.Value != "" {
					row.Cells[2], row.Cells[3] = c.Now.Value+" "+unitLabel(c.Field, c.Now.Unit), c.By
				}
				w.Rows = append(w.Rows, row)
			}
			return w
		},
		func(body *fyne.Container, w baselineWords) {
			if len(w.Rows) == 0 {
				return
			}
			body.Add(widget.NewHeading("Beside the readings of " + w.Visit))
			body.Add(widget.NewTable([]string{"", "then", "this visit", "change"}, w.Rows))
			body.Add(widget.NewWords("Nothing is judged here: weather, load and charge change readings too.", theme.Small-0.5, false, theme.Muted))
		})
}
