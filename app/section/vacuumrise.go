package section

import (
	"fmt"
	"slices"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// vacuumRise is the rise of the isolated vacuum, once there are readings of it.
func vacuumRise(p *Pane) *Section {
	return picture(p, "vacuum rise", 0.42, func(in Input, r *assess.Report) *chart.Picture {
		return risePicture(r, in.present(r))
	})
}

// riseLimits are the limits that the picture shows, by the reading they are for.
var riseLimits = map[string]string{record.VacuumFinal.String(): "to start the hold", record.VacuumEnd.String(): "at its end"}

// risePicture is the readings, the curve fitted to them and the limits of the
// findings; nil while there are none.
func risePicture(r *assess.Report, s presenter) *chart.Picture {
	if r.Rise == nil {
		return nil
	}
	v, q := units.Preferred(units.Vacuum, s.system), r.Rise
	t, err := units.Lookup(units.Duration, "min")
	if err != nil {
		return nil
	}
	read, fit := chart.Series{Marks: true, Tone: theme.Accent}, chart.Series{Tone: theme.Ink}
	for i := range q.Seconds {
		read.X, read.Y = append(read.X, t.FromSI(q.Seconds[i], 0)), append(read.Y, v.FromSI(q.P[i], 0))
	}
	for i := range q.CurveT {
		fit.X, fit.Y = append(fit.X, t.FromSI(q.CurveT[i], 0)), append(fit.Y, v.FromSI(q.CurveP[i], 0))
	}
	band := chart.Ribbon{X: fit.X, Tone: theme.Band}
	for i := range q.Low {
		band.Low, band.High = append(band.Low, v.FromSI(q.Low[i], 0)), append(band.High, v.FromSI(q.High[i], 0))
	}
	c := chart.XY{Ribbons: []chart.Ribbon{band}, XLabel: "minutes since valved off; the rise says: " + riseWord(r, v), YLabel: "Pressure, " + v.Label + " absolute", Series: []chart.Series{read, fit}}
	if top := slices.Max(q.P) * 2; q.Plateau > 0 && q.Plateau <= top {
		c.Levels = append(c.Levels, chart.Level{Y: v.FromSI(q.Plateau, 0), Name: "water at " + q.PlateauOf})
	}
	for _, f := range r.Of(record.CloseUp) {
		for _, in := range f.Inputs {
			if name := riseLimits[in.Key]; name != "" && f.Dim == units.Vacuum && f.Band.High != nil {
				c.Levels = append(c.Levels, chart.Level{Y: v.FromSI(*f.Band.High, 0), Name: fmt.Sprintf("%s at most %s %s", name, limit(v.FromSI(*f.Band.High, 0)), v.Label)})
			}
		}
	}
	return c.Picture()
}

// riseWord is the finding's own word, so that picture and finding cannot differ: a
// word the finding withholds is not said here.
func riseWord(r *assess.Report, v units.Unit) string {
	for _, f := range r.Of(record.CloseUp) {
		if f.Key != "vacuum_word" {
			continue
		}
		switch {
		case f.Verdict == assess.NotJudged || f.Verdict == assess.NotMeasured:
			return "not judged, see above"
		case f.Verdict == assess.TooClose && r.Rise.More == 0:
			return "these readings do not tell"
		case r.Rise.More > 0:
			return fmt.Sprintf("wait %.0f minutes", r.Rise.More/60)
		}
	}
	w := r.Rise.Word
	if r.Rise.Plateau > 0 {
		w += fmt.Sprintf("; water (%s) would hold it at %s %s", r.Rise.PlateauOf, limit(v.FromSI(r.Rise.Plateau, 0)), v.Label)
	}
	return w
}
