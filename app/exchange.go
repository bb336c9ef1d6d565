package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/store"
)

// exchangeEvery is how often the jobs are exchanged by themselves.
const exchangeEvery = 5 * time.Minute

// byItself is the exchange that nobody has to ask for: with what was exchanged with
// last, at the start and at intervals, beside the toolkit's thread and beside saving.
type byItself struct {
	off     bool
	under   bool // one is on its way
	last    time.Time
	said    string // what the last one came to
	failed  bool
	reading widget.Latest
}

// exchangeDue begins an exchange where one is due.
func (b *Bench) exchangeDue() {
	x := &b.alone
	if x.off || x.under || b.shared == "" || b.keep.jobs == nil || b.readOnly != nil || !x.last.IsZero() && b.now().Sub(x.last) < exchangeEvery {
		return
	}
	x.under, x.last = true, b.now()
	k, with := b.keep, b.shared
	x.reading.Ask(func() func() {
		did, err := k.exchange(with)
		return func() { b.exchangedAlone(did, err) }
	})
}

// exchangedAlone tells what came of it. The job on the bench is left as it is while
// someone may be typing: what came to it is shown once it is opened again, and what is
// typed until then goes beside it.
func (b *Bench) exchangedAlone(did store.Exchanged, err error) {
	x := &b.alone
	x.under = false
	at := x.last.Format("15:04")
	if x.failed = err != nil; x.failed {
		x.said = "Not exchanged at " + at + ": " + err.Error() + fmt.Sprintf(". It is tried again every %d minutes; everything is kept here.", int(exchangeEvery.Minutes()))
	} else {
		x.said = "Exchanged by itself at " + at + ": " + did.String()
		if did.Refused > 0 {
			x.failed = true
		}
	}
	if slices.Contains(did.Jobs, b.job.ID) {
		b.stale = true
	}
	b.window.paintBar()
}

// exchangeStatus is what of that the bar has to tell.
func (b *Bench) exchangeStatus() string {
	var say []string
	if b.stale {
		say = append(say, "others have added to this job: open it again under Jobs")
	}
	if b.alone.failed && !b.alone.off {
		say = append(say, "the last exchange did not go through, see Jobs")
	}
	return strings.Join(say, "; ")
}

// aloneKeys tell of the exchange by itself, and turn it off and on.
func (l *jobList) aloneKeys() fyne.CanvasObject {
	b := l.b
	tone, said := theme.Muted, b.alone.said
	if b.alone.failed {
		tone = theme.Warning
	}
	if said == "" {
		said = "Not exchanged by itself yet."
	}
	var tap *widget.Tap
	tap = widget.NewTap("Exchange with it by itself, at the start and every 5 minutes", func() {
		b.alone.off = !b.alone.off
		tap.Set(tap.Text, !b.alone.off)
		b.Remember()
		b.window.paintBar()
	})
	tap.On = !b.alone.off
	return widget.NewColumn(6, 0, tap, widget.NewWords(said, theme.Small+0.5, false, tone))
}
