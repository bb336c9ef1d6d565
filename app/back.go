package app

import (
	"errors"
	"fmt"
	"strings"

	"retrostage/app/section"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// turn is an undo that is under way, and the edits made meanwhile.
type turn struct {
	keep  jobStore
	job   *record.Job // as it stood, with those edits
	since []func(*record.Job)
}

// Back takes back what was done last to the job, also in an earlier sitting, or does
// again what was taken back last. It is done beside the finger; what is entered
// meanwhile is entered after it.
func (b *Bench) Back(again bool) {
	if b.keep.jobs == nil || b.turn != nil {
		return
	}
	b.Leave()
	if b.readOnly != nil {
		b.notice = "Not done. "
		b.window.paintBar()
		return
	}
	t := &turn{keep: b.keep, job: b.job}
	b.turn = t
	id, who := b.job.ID, b.person
	b.saving.Ask(func() func() {
		var a store.Act
		var o opening
		err := b.waiting.write() // what is not kept yet was done before
		if err == nil {
			a, err = t.keep.jobs.Back(id, who, again)
		}
		if err == nil {
			o, err = t.keep.load(id)
		}
		return func() { b.turned(t, a, o, again, err) }
	})
}

// turned puts the job as it now is on the bench, with what was entered meanwhile.
func (b *Bench) turned(t *turn, a store.Act, o opening, again bool, err error) {
	if err == nil {
		for _, edit := range t.since {
			edit(o.job)
		}
	} else {
		o.job = t.job
	}
	if b.turn != t { // another job came to the bench
		if len(t.since) > 0 {
			b.waiting.put(unwritten{t.keep, o.job.Clone(), b.person})
			b.write()
		}
		return
	}
	b.turn = nil
	switch {
	case errors.Is(err, store.ErrNothing):
		b.notice = "There is nothing to take back."
		if again {
			b.notice = "There is nothing to do again."
		}
	case err != nil:
		b.note = "Not taken back: " + err.Error()
	default:
		b.show(o, a, again)
	}
	if len(t.since) > 0 {
		b.save()
	}
	b.window.paintBar()
}

// show puts the same job on the bench as it has become, at the field it is about.
func (b *Bench) show(o opening, a store.Act, again bool) {
	step := b.job.Step
	was := b.panes[b.at]
	gone, there := b.job.Entry(a.Key)
	b.job, b.savedAt, b.archived, b.apart, b.sitting.Units = o.job, o.at, o.archived, o.apart, nil
	b.job.Step = step
	b.follow()
	b.panes = map[int]*section.Pane{}
	n := len(b.job.Entries)
	if again {
		b.beginWait(a.Key)
	} else if there {
		b.holdFollows(a.Key, gone)
	}
	if len(b.job.Entries) > n { // the clock that follows its readings
		b.save()
	}
	b.recalc()
	b.open(b.at)
	b.pane().ResumeFrom(was)
	b.notice = "Taken back: "
	if again {
		b.notice = "Done again: "
	}
	b.notice += line(a)
	if f, err := record.ByKey(a.Key); err == nil && f.Step != b.step().Step {
		told := b.notice
		b.LeadAway(f.Step, a.Key.String())
		b.notice = told
	} else if err == nil {
		b.pane().LeadToWhenThere(a.Key.String())
	}
}

// line is what was done, in a line.
func line(a store.Act) string {
	what := map[store.Kind]string{store.Instrument: "the list of instruments", store.UnitEdit: "a change of the unit", store.Logged: "log " + a.Value,
		store.Attached: "picture " + a.Value, store.Archived: "the job put away", store.Unarchived: "the job brought back"}[a.Kind]
	if f, err := record.ByKey(a.Key); err == nil {
		value := a.Value
		if value == "" {
			value = "cleared"
		}
		if a.Kind == store.Drafted {
			value += ", typed and not entered"
		}
		what = strings.ToLower(f.Label[:1]) + f.Label[1:] + " " + value
	}
	by := ""
	if a.Who != "" {
		by = " by " + a.Who
	}
	return fmt.Sprintf("%s,%s %s", what, by, a.When.Format("2006-01-02 15:04"))
}

// again tries once more what did not go: saving, assessing, or, where only reading can
// be done, becoming the one that writes. What was told is seen.
func (b *Bench) again() {
	b.note = ""
	switch {
	case b.saveErr != nil:
		b.save()
		return
	case b.runErr != nil:
		b.recalc()
		return
	case b.readOnly == nil:
		b.window.paintBar()
		return
	}
	k, id := b.keep, b.job.ID
	b.saving.Ask(func() func() {
		k.jobs.TakeOver() // whether it did, the opening says
		o, err := k.load(id)
		if errors.Is(err, store.ErrNone) { // it was a new one
			o, err = k.begin()
		}
		return func() {
			if err != nil {
				b.note = err.Error()
				b.window.paintBar()
				return
			}
			at := b.at
			b.put(o)
			b.open(at)
		}
	})
}
