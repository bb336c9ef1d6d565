package app

import (
	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// onward is what it takes to go on to the next step by itself: whether the entry made just
// now was the last that its step lacked is known once it was assessed.
type onward struct {
	job   string
	words map[record.Step]assess.Progress // as last assessed
	made  map[record.Step]int             // the revision that made the step done
	asked *leaving
}

// leaving is a way on that waits for the assessment.
type leaving struct {
	pane     *section.Pane
	revision int
	typed    int
	cursor   *widget.Row // where it stood
}

func isDone(w assess.Progress) bool { return w == assess.Done || w == assess.DoneReserved }

// judged takes in the assessment of what was entered.
func (o *onward) judged(job string, revision int, r *assess.Report) {
	if o.job != job {
		*o = onward{job: job}
	}
	was := o.words
	o.words, o.made = map[record.Step]assess.Progress{}, map[record.Step]int{}
	for _, s := range r.Steps {
		o.words[s.Step] = s.Word
		if before, known := was[s.Step]; known && isDone(s.Word) && !isDone(before) {
			o.made[s.Step] = revision
		}
	}
}

// WhenDone takes the way on as soon as it is known that the revision at hand made the step
// done. Nobody is led away from the running check: its verdicts are to be read there.
func (b *Bench) WhenDone() {
	if s := b.step().Step; s == record.Running || s == record.HandOver {
		return
	}
	b.onward.asked = &leaving{b.pane(), b.revision, b.typed, b.active}
	b.goOn()
}

// goOn is WhenDone once it can be said. Whoever did anything in between stays.
func (b *Bench) goOn() {
	a := b.onward.asked
	if a == nil {
		return
	}
	if a.pane != b.panes[b.at] || a.revision != b.revision || a.typed != b.typed || a.cursor != b.active {
		b.onward.asked = nil
		return
	}
	s := b.step()
	if b.onward.made[s.Step] != b.revision || b.revision == 0 {
		return // not assessed yet, or not done by it
	}
	b.onward.asked = nil
	said := s.Title + " is done."
	if b.onward.words[s.Step] == assess.DoneReserved {
		said = s.Title + " is done with reservations, which it names at its foot."
	}
	a.pane.GoOn()
	if b.notice == "" {
		b.notice = said
		b.window.paintBar()
	}
}

// BeginLike puts a new job on the bench that begins like the one at hand, once all of that
// is on disk or held.
func (b *Bench) BeginLike() {
	if b.beginning {
		return
	}
	b.beginning = true
	b.Leave()
	from, k := b.job.Clone(), b.keep
	b.saving.Ask(func() func() {
		b.waiting.write() // what fails is held, and said when the job is on the bench
		o, err := k.beginLike(from)
		return func() {
			b.beginning = false
			if err != nil {
				b.notice = "Not begun: " + err.Error()
				b.window.paintBar()
				return
			}
			b.put(o)
		}
	})
}
