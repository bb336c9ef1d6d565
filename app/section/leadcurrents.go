package section

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// leadWords is the three lead currents in a picture and in words.
type leadWords struct {
	pic    *chart.Picture
	closes string
	tone   theme.Tone
	wrong  string
}

// leadCurrents is the triangle of the three lead currents, once they are read.
func leadCurrents(p *Pane) *Section {
	body, view := widget.NewColumn(6, 0), p.newView(0.34)
	view.Still = true
	return newSection("lead currents", []fyne.CanvasObject{body}, Input.entered,
		func(_ context.Context, in Input) leadWords {
			r, err := in.Entered.Report()
			if err != nil {
				return leadWords{}
			}
			l, err := assess.LeadCurrentsOf(in.Job, r.Site)
			return presenter{system: in.System}.leads(l, err)
		},
		func(w leadWords) {
			widget.Refill(body, func() {
				if w.wrong != "" {
					body.Add(widget.NewNotice("outside", theme.Bad, []string{w.wrong}, nil))
				}
				if w.pic == nil {
					return
				}
				body.Add(widget.NewHeading("The three lead currents"))
				view.Set(w.pic)
				body.Add(view)
				body.Add(widget.NewWords(w.closes, theme.Small+0.5, false, w.tone))
			})
			p.reflow()
		}).alone()
}

func (s presenter) leads(l *assess.LeadCurrents, err error) (w leadWords) {
	if err != nil {
		w.wrong = Sentence(err.Error())
	}
	if l == nil {
		return w
	}
	amps := units.Preferred(units.Current, s.system)
	a := func(x float64) string { return tidy(amps.FromSI(x, 0), 2) + " " + amps.Label }
	if c := l.Closure; c != nil && c.Gap > 0 {
		w.closes = fmt.Sprintf("The three currents do not close: with run %s and start %s, common can only be %s to %s, and reads %s. Read them again, one after another, on an unchanged machine.", a(l.Run), a(l.Start), a(c.Low), a(c.High), a(l.Common))
		w.tone = theme.Bad
	} else if c != nil {
		w.closes = fmt.Sprintf("The three currents close: start is %s° ahead of run, and common, %s, is their sum. Drawn against the common lead.", figureTo(l.Degrees(), 0), a(l.Common))
		w.tone = theme.Muted
	}
	if f := l.Phasors; f != nil {
		w.pic = chart.Phasors([]chart.Phasor{
			{Name: "run " + a(l.Run), Value: f.Run, Tone: theme.Ink},
			{Name: "start " + a(l.Start), Value: f.Start, Tone: theme.Warning},
			{Name: "common " + a(l.Common), Value: f.Common, Tone: theme.Accent},
		})
	}
	return w
}
