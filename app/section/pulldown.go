package section

import (
	"fmt"
	"slices"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/thermo/units"
)

// pullDown is the pull-down with what is still needed, once there are readings of it.
func pullDown(p *Pane) *Section {
	return picture(p, "pull-down", 0.42, func(in Input, r *assess.Report) *chart.Picture {
		return pullPicture(r, in.present(r))
	})
}

// pullPicture is the readings, what explains them and goes on, the vacuum that starts
// the hold and water's plateau; nil while there are none.
func pullPicture(r *assess.Report, s presenter) *chart.Picture {
	q := r.Pull
	if q == nil {
		return nil
	}
	v := units.Preferred(units.Vacuum, s.system)
	show := func(p float64) float64 { return v.FromSI(p, 0) }
	read, fit := chart.Series{Marks: true, Tone: theme.Accent}, chart.Series{Tone: theme.Ink}
	band := chart.Ribbon{Tone: theme.Band}
	for i := range q.Seconds {
		read.X, read.Y = append(read.X, q.Seconds[i]/60), append(read.Y, show(q.P[i]))
	}
	for i := range q.CurveT {
		x := q.CurveT[i] / 60
		fit.X, fit.Y = append(fit.X, x), append(fit.Y, show(q.CurveP[i]))
		band.X, band.Low, band.High = append(band.X, x), append(band.Low, show(q.Low[i])), append(band.High, show(q.High[i]))
	}
	c := chart.XY{Ribbons: []chart.Ribbon{band}, LogY: true, Series: []chart.Series{read, fit},
		XLabel: "minutes since the pump was started; " + pullSays(q), YLabel: "Pressure, " + v.Label + " absolute",
		Levels: []chart.Level{{Y: show(q.Target), Name: fmt.Sprintf("to start the hold at most %s %s", limit(show(q.Target)), v.Label)}}}
	if q.Plateau > 0 && q.Plateau <= slices.Max(q.P) && q.Plateau >= slices.Min(q.P)/3 {
		c.Levels = append(c.Levels, chart.Level{Y: show(q.Plateau), Name: "water boils, " + q.PlateauOf})
	}
	last := q.Seconds[len(q.Seconds)-1] / 60
	if q.LeftHigh > 0 {
		c.Window = &chart.Window{From: last + q.LeftLow/60, To: min(last+q.LeftHigh/60, fit.X[len(fit.X)-1]), Name: "reached, 95 %"}
	}
	return c.Picture()
}

// pullSays is what the picture says of the time still needed, as the finding does.
func pullSays(q *assess.Pull) string {
	minutes := func(s float64) string { return fmt.Sprintf("%.0f", s/60) }
	switch {
	case q.Reaches < 0.5:
		return "pumping on like this does not get there"
	case q.LeftHigh <= 0:
		return "it is reached"
	}
	return fmt.Sprintf("%s more minutes, %s to %s", minutes(q.Left), minutes(q.LeftLow), minutes(q.LeftHigh))
}
