package app

import (
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/section"
)

// tick follows the waits of the job: what runs is shown to the second on every step,
// and rung once when its time is over. Nothing is kept but in the record.
func (b *Bench) tick() {
	now := b.now()
	text := section.ClockStatus(b.report, now)
	if text == "" && b.ticked == "" {
		return
	}
	b.ticked = text
	b.input.Now = now
	b.window.paintBar()
	if p := b.panes[b.at]; p != nil {
		p.Offer(b.input)
	}
	for _, c := range b.report.Clocks {
		id := b.job.ID + c.Key.String() + c.Started.String()
		if c.Due(now) && !b.rung[id] {
			b.rung[id] = true
			if b.ring != nil {
				b.ring(c.Label, c.Ends)
			}
		}
	}
}

// beat ticks once a second until the channel is closed.
func (b *Bench) beat(done <-chan struct{}) {
	t := time.NewTicker(time.Second)
	defer t.Stop()
	for {
		select {
		case <-done:
			return
		case <-t.C:
			fyne.Do(func() {
				b.tick()
				b.exchangeDue()
				b.watch()
			})
		}
	}
}
