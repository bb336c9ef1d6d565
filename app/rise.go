package app

import (
	"fmt"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

// rise is the picture of the isolated vacuum's rise: the readings, the curve
// fitted to them and the limits of the findings; nil while there are none.
func rise(r *assess.Report, s shown) *chart.Picture {
	if r == nil || r.Rise == nil || len(r.Rise.Seconds) == 0 {
		return nil
	}
	v, q := units.Preferred(units.Vacuum, s.system), r.Rise
	t, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return nil
	}
	read := chart.Series{Marks: true, Tone: theme.Accent}
	for i := range q.Seconds {
		read.X, read.Y = append(read.X, t.FromSI(q.Seconds[i], 0)), append(read.Y, v.FromSI(q.P[i], 0))
	}
	fit := chart.Series{Tone: theme.Ink}
	curve := vacuum.Rise{Start: q.Start, Slope: q.Slope, Gain: q.Gain, Tau: q.Tau}
	const points = 80
	first, last := q.Seconds[0], q.Seconds[len(q.Seconds)-1]
	for i := range points + 1 {
		x := first + (last-first)*float64(i)/points
		fit.X, fit.Y = append(fit.X, t.FromSI(x, 0)), append(fit.Y, v.FromSI(curve.At(x), 0))
	}
	c := chart.XY{XLabel: "minutes since the pump was valved off; the rise looks like: " + q.Form, YLabel: "Pressure, " + v.Label + " absolute", Series: []chart.Series{read, fit}}
	named := map[string]string{record.VacuumFinal.String(): "to start the hold", record.VacuumEnd.String(): "at its end"}
	for _, f := range r.Of(record.CloseUp) {
		for _, in := range f.Inputs {
			if name := named[in.Key]; name != "" && f.Dim == units.Vacuum && f.Band.High != nil {
				c.Levels = append(c.Levels, chart.Level{Y: v.FromSI(*f.Band.High, 0), Name: fmt.Sprintf("%s at most %s %s", name, limit(v.FromSI(*f.Band.High, 0)), v.Label)})
			}
		}
	}
	return c.Picture()
}
