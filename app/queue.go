package app

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/queue"
	"retrostage/reports/store"
)

// openQueue is the sheet of what waits for whom. It is read beside the finger: each job
// is assessed for it.
func (b *Bench) openQueue() {
	b.pageSheet(820, 680, func(shut func()) (fyne.CanvasObject, func()) { return b.newQueue(shut), nil })
}

func (b *Bench) newQueue(shut func()) *widget.Scroller {
	said := widget.NewWords("Reading the jobs", theme.Small+0.5, false, theme.Muted)
	rows := widget.NewColumn(6, 0)
	page := widget.NewScroller(widget.NewColumn(6, 12, widget.NewWords("Queue: supervisor and clerk", theme.Figure, true, theme.Ink), said, rows))
	k := b.keep
	reading := &widget.Latest{Now: b.saving.Now}
	b.saving.Ask(func() func() { // after what was entered last; what is entered next does not wait for the reading
		err := b.waiting.write()
		return func() {
			reading.Ask(func() func() {
				var list []queue.Row
				if err == nil {
					list, err = queue.Of(k.jobs)
				}
				return func() {
					b.fillQueue(rows, said, list, err, shut)
					page.Reflow()
				}
			})
		}
	})
	return page
}

func (b *Bench) fillQueue(rows *fyne.Container, said *widget.Words, list []queue.Row, err error, shut func()) {
	if err != nil {
		said.Tone = theme.Bad
		said.Set("The queue cannot be told: " + err.Error())
		return
	}
	n := map[queue.Stand]int{}
	complete := 0
	for _, r := range list {
		n[r.Stand]++
		if r.Complete {
			complete++
		}
	}
	said.Set(fmt.Sprintf("%d wait for the supervisor, %d were returned, %d are complete, %d of %d are not.", n[queue.Waiting], n[queue.Returned], complete, len(list)-complete, len(list)))
	for i, r := range list {
		if i == shownJobs {
			rows.Add(widget.NewWords(fmt.Sprintf("And %d more: retrostage jobs queue lists them all.", len(list)-shownJobs), theme.Small+0.5, false, theme.Muted))
			break
		}
		title := r.Owner
		if title == "" {
			title = "no owner reference"
		}
		if r.Demo {
			title = "DEMO: " + title
		}
		word, tone := string(r.Stand), theme.Muted
		switch {
		case r.Complete:
			word, tone = "complete", theme.Good
		case r.Stand == queue.Returned:
			tone = theme.Bad
		case r.Stand == queue.Waiting:
			word, tone = "waiting", theme.Accent
		}
		c := widget.NewCard(title, word, r.Job+". "+r.Words()+". "+r.Lacks(4), tone)
		here := r.Job == b.job.ID
		if here {
			c.Do = shut
		} else {
			c.Do = func() {
				shut()
				l := b.newJobList(func() {})
				l.open(func() (opening, error) { return l.b.keep.load(r.Job) })
			}
		}
		rows.Add(c)
		if here && r.Stand == queue.Waiting && b.readOnly == nil {
			b.decideKeys(rows, r, shut)
		}
	}
}

// decideKeys are the supervisor's on the job that is on the bench.
func (b *Bench) decideKeys(rows *fyne.Container, r queue.Row, shut func()) {
	why := toolkit.NewEntry()
	why.SetPlaceHolder(words.Say("remarks; why, where it is returned"))
	said := widget.NewWords("", theme.Small+0.5, false, theme.Bad)
	decide := func(decision string) func() {
		return func() {
			k, who, remarks := b.keep, b.person, strings.TrimSpace(why.Text)
			b.saving.Ask(func() func() {
				err := k.jobs.Decide(r.Job, who, decision, remarks)
				return func() {
					if err != nil {
						said.Set("Not decided: " + err.Error())
						rows.Refresh()
						return
					}
					shut()
					b.openQueue()
				}
			})
		}
	}
	rows.Add(why)
	rows.Add(widget.NewTap("Accept what is signed on the bench", decide(store.Accept)))
	rows.Add(widget.NewTap("Return it to the technician", decide(store.Return)))
	rows.Add(said)
}
