package app

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/archive"
	"retrostage/reports/store"
)

// shownJobs is how many jobs the list shows at once; a word finds the others.
const shownJobs = 40

// jobList is the sheet of the jobs on this tablet, in the order of what happened to
// them last. It reads beside the finger; a job that is being opened holds the sheet,
// so that nothing is entered into the one it replaces.
type jobList struct {
	b       *Bench
	shut    func()
	search  *searched
	all     *widget.Tap // the archived too
	months  *widget.Choose
	month   string // the one whose jobs are shown, as in 2026-08; "" for all
	rows    *fyne.Container
	page    *widget.Scroller
	said    *widget.Words
	reading widget.Latest
	opening bool
}

func (b *Bench) chooseJob() {
	b.pageSheet(720, 660, func(shut func()) (fyne.CanvasObject, func()) {
		if b.keep.jobs == nil {
			return b.ownFile(shut), nil
		}
		l := b.newJobList(shut)
		return l.page, l.leave
	})
}

// ownFile is the sheet about a job that is kept apart from the others.
func (b *Bench) ownFile(shut func()) fyne.CanvasObject {
	where := "This job is kept nowhere."
	if f := b.keep.file; f != nil {
		where = "This job is kept in a file of its own: " + f.path
	}
	return widget.NewScroller(widget.NewColumn(6, 10, widget.NewWords("Jobs on this tablet", theme.Figure, true, theme.Ink),
		widget.NewWords(where, theme.Text, false, theme.Ink), b.filed(shut)))
}

// filed leads to what is done with workbooks.
func (b *Bench) filed(shut func()) fyne.CanvasObject {
	return widget.NewColumn(6, 0, widget.NewTap("Register of workbooks, for the clerk", func() {
		shut()
		b.openRegister()
	}), widget.NewTap("Countersign a workbook, for the supervisor", func() {
		shut()
		b.openCountersign()
	}))
}

// queue opens what waits for supervisor and clerk.
func (l *jobList) queue() *widget.Tap {
	return widget.NewTap("Queue: what waits for the supervisor and the clerk", func() {
		l.shut()
		l.b.openQueue()
	})
}

func (b *Bench) newJobList(shut func()) *jobList {
	l := &jobList{b: b, shut: shut, rows: widget.NewColumn(6, 0), said: widget.NewWords("", theme.Small+0.5, false, theme.Muted)}
	l.search = newSearched(l.leave)
	l.reading.Now = b.assessing.Now
	l.search.SetPlaceHolder(words.Say("owner reference, serial number, date or state"))
	l.search.OnChanged = func(string) { l.read() }
	l.months = widget.NewChoose(nil, "", nil)
	l.months.Px, l.months.Toggle = theme.Small+0.5, true
	l.all = widget.NewTap("Show those put away too", func() {
		l.all.Set(l.all.Text, !l.all.On)
		l.read()
	})
	fresh := widget.NewTap("Begin a new job", func() { l.open(b.keep.begin) })
	fresh.Strong = true
	l.page = widget.NewScroller(widget.NewColumn(6, 12, widget.NewWords("Jobs on this tablet", theme.Figure, true, theme.Ink),
		fresh, l.alike(), l.search, l.months, l.said, l.rows, l.all, l.away(), l.exchange(), l.aloneKeys(), b.filed(shut), l.queue()))
	l.read()
	return l
}

// leave shuts the sheet, unless a job is on its way.
func (l *jobList) leave() {
	if !l.opening {
		l.shut()
	}
}

// read fills in the jobs that the words are found in.
func (l *jobList) read() {
	k, words, all := l.b.keep, l.search.Text, l.all.On
	l.reading.Ask(func() func() {
		list, err := k.jobs.List(words, all)
		return func() { l.fill(list, err) }
	})
}

// shownMonths is how many months have keys; a date as it is written in the list finds
// older ones.
const shownMonths = 4

const monthForm = "2006-01"

// byMonth offers the months in which jobs were worked on last, and keeps those of the one
// that is chosen.
func (l *jobList) byMonth(list []store.Listed) (out []store.Listed) {
	count := map[string]int{}
	for _, n := range list {
		count[n.Changed.Format(monthForm)]++
	}
	if count[l.month] == 0 {
		l.month = ""
	}
	var words []string
	chosen, of := "", map[string]string{}
	for i, m := range slices.Backward(slices.Sorted(maps.Keys(count))) {
		if len(count)-i > shownMonths && m != l.month || len(count) == 1 {
			continue
		}
		w := fmt.Sprintf("%s (%d)", l.monthName(m), count[m])
		if words, of[w] = append(words, w), m; m == l.month {
			chosen = w
		}
	}
	l.months.SetOptions(words, chosen)
	l.months.Do = func(w string) {
		l.month = of[w]
		l.read()
	}
	for _, n := range list {
		if l.month == "" || n.Changed.Format(monthForm) == l.month {
			out = append(out, n)
		}
	}
	return out
}

// monthName is a month as a person asks for it.
func (l *jobList) monthName(m string) string {
	at, err := time.Parse(monthForm, m)
	if err != nil {
		return m
	}
	now := l.b.now()
	first := time.Date(now.Year(), now.Month(), 1, 0, 0, 0, 0, time.UTC)
	switch {
	case at.Equal(first):
		return "this month"
	case at.Equal(first.AddDate(0, -1, 0)):
		return "last month, " + at.Format("January")
	}
	return at.Format("January 2006")
}

func (l *jobList) fill(list []store.Listed, err error) {
	list = l.byMonth(list)
	l.rows.RemoveAll()
	switch {
	case err != nil:
		l.said.Tone = theme.Bad
		l.said.Set("The jobs cannot be listed: " + err.Error())
	case len(list) == 0 && strings.TrimSpace(l.search.Text) != "":
		l.said.Set("No job has these words.")
	case len(list) == 0:
		l.said.Set("No job is kept yet.")
	case len(list) > shownJobs:
		l.said.Set(fmt.Sprintf("The newest %d of %d; a word or a date finds the others.", shownJobs, len(list)))
		list = list[:shownJobs]
	case len(list) == 1:
		l.said.Set("1 job.")
	default:
		l.said.Set(fmt.Sprintf("%d jobs, the one worked on last first.", len(list)))
	}
	for _, n := range list {
		title := n.Owner
		if title == "" {
			title = "no owner reference"
		}
		why := n.ID
		if n.Serial != "" {
			why = "Serial " + n.Serial + ", " + why
		}
		why += ", begun " + n.Begun.Format("2006-01-02") + ", worked on last " + n.Changed.Format("2006-01-02 15:04")
		tone := theme.Muted
		if n.Aside > 0 {
			tone = theme.Warning
			why += fmt.Sprintf(", %d events cannot be read", n.Aside)
		}
		word := n.State
		if n.Due != "" && !n.Archived {
			why += ". Due by " + n.Due
			if n.FollowUp != "" {
				why += ": " + n.FollowUp
			}
			word = "due"
			if tone = theme.Accent; n.Overdue {
				word, tone = "overdue", theme.Bad
			}
		}
		if n.Demo {
			title = "DEMO: " + title
		}
		if n.ID == l.b.job.ID {
			title += " (on the bench)"
		}
		c := widget.NewCard(title, word, why, tone)
		c.Do = func() { l.open(func() (opening, error) { return l.b.keep.load(n.ID) }) }
		if n.ID == l.b.job.ID && !l.b.stale {
			c.Do = l.leave
		}
		l.rows.Add(c)
	}
	l.page.Reflow()
}

// open brings a job to the bench once everything entered is on disk or held.
func (l *jobList) open(load func() (opening, error)) {
	if l.opening {
		return
	}
	l.opening = true
	l.said.Set("Opening")
	b := l.b
	b.saving.Ask(func() func() {
		b.waiting.write() // what fails is held, and said when the job is on the bench
		o, err := load()
		return func() {
			l.opening = false
			if err != nil {
				l.said.Tone = theme.Bad
				l.said.Set("Not opened: " + err.Error())
				l.page.Reflow()
				return
			}
			l.shut()
			b.put(o)
		}
	})
}

// alike begins a job with what it shares with an earlier one: the one on the bench, or
// one in a file, as the company's own template is.
func (l *jobList) alike() fyne.CanvasObject {
	b := l.b
	col := widget.NewColumn(6, 0, widget.NewTap("Begin a new job like the one on the bench", func() {
		from := b.job.Clone()
		l.open(func() (opening, error) { return b.keep.beginLike(from) })
	}))
	if b.pickJob != nil {
		col.Add(widget.NewTap("Begin a new job like one in a job file", func() { b.pickJob(l.likeFile) }))
	}
	return col
}

func (l *jobList) likeFile(path string) {
	k := l.b.keep
	l.open(func() (opening, error) {
		from, err := archive.ReadJob(path)
		if err != nil {
			return opening{}, err
		}
		return k.beginLike(from)
	})
}

// exchange brings the jobs of other tablets here, and these there, through a folder
// that both reach or with the office.
func (l *jobList) exchange() fyne.CanvasObject {
	b := l.b
	where := toolkit.NewEntry()
	where.SetPlaceHolder(words.Say("folder shared with other tablets, or the office: postgres://..."))
	where.SetText(b.shared)
	return widget.NewColumn(6, 0, where, widget.NewTap("Exchange with it", func() {
		dir := strings.TrimSpace(where.Text)
		if l.opening || dir == "" {
			return
		}
		l.opening = true
		l.said.Tone = theme.Muted
		l.said.Set("Exchanging")
		k, id := b.keep, b.job.ID
		b.saving.Ask(func() func() {
			var x store.Exchanged
			var o opening
			err := b.waiting.write()
			if err == nil {
				x, err = k.exchange(dir)
			}
			if err == nil {
				if o, err = k.load(id); errors.Is(err, store.ErrNone) { // nothing was entered into it yet
					o, err = k.begin()
				}
			}
			return func() { l.exchanged(dir, x, o, err) }
		})
	}))
}

func (l *jobList) exchanged(dir string, x store.Exchanged, o opening, err error) {
	l.opening = false
	if err != nil {
		l.said.Tone = theme.Bad
		l.said.Set("Not exchanged: " + err.Error())
		l.page.Reflow()
		return
	}
	l.shut()
	at := l.b.at
	l.b.shared = dir
	l.b.Remember()
	o.notice = "Exchanged: " + x.String()
	if x.Refused > 0 {
		o.warn, o.notice = o.notice+" "+o.warn, ""
	}
	l.b.put(o)
	l.b.open(at)
}

// away puts the job on the bench away, or brings it back.
func (l *jobList) away() fyne.CanvasObject {
	b := l.b
	act := func(do func(k jobs, id, who string) error) {
		k, id, who := b.keep, b.job.ID, b.person
		l.open(func() (opening, error) {
			if err := b.waiting.write(); err != nil {
				return opening{}, err
			}
			if err := do(k.jobs, id, who); err != nil {
				return opening{}, err
			}
			return k.load(id)
		})
	}
	if b.archived != "" {
		return widget.NewColumn(6, 0, widget.NewTap("Bring the job on the bench back", func() {
			act(func(k jobs, id, who string) error { return k.Unarchive(id, who) })
		}))
	}
	why := toolkit.NewEntry()
	why.SetPlaceHolder(words.Say("why the job on the bench is put away"))
	return widget.NewColumn(6, 0, why, widget.NewTap("Put the job on the bench away", func() {
		reason := strings.TrimSpace(why.Text)
		if reason == "" {
			l.said.Tone = theme.Bad
			l.said.Set(noReason)
			l.page.Reflow()
			return
		}
		act(func(k jobs, id, who string) error { return k.Archive(id, who, reason) })
	}))
}

const noReason = "Say why the job is put away: it stands beside it."
