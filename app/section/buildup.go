package section

import (
	"strings"

	"retrostage/app/chart"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// buildUp is the charge term by term, once it can be added up.
func buildUp(p *Pane) *Section {
	return picture(p, "charge build-up", 0.48, func(in Input, r *assess.Report) *chart.Picture {
		return buildUpPicture(r, in.present(r))
	})
}

// buildUpPicture is the terms with their doubt, their total, and what was weighed in.
func buildUpPicture(r *assess.Report, s presenter) *chart.Picture {
	if len(r.BuildUp) == 0 {
		return nil
	}
	u := units.Preferred(units.Mass, s.system)
	part := func(name string, m, doubt float64) chart.StackPart {
		v, half := u.FromSI(m, 0), u.Span(doubt)
		text := figure(v, half) + " " + u.Label
		if half > 0 {
			text = figure(v, half) + " ± " + figure(half, half) + " " + u.Label
		}
		return chart.StackPart{Name: name, Value: v, Half: half, Text: text}
	}
	out := chart.Stack{Title: "Term by term; whiskers: doubt, 95 %"}
	for _, t := range r.BuildUp {
		name := Sentence(t.Name)
		if t.Not != "" {
			name += " (not known)"
		}
		out.Parts = append(out.Parts, part(name, t.M, 2*t.U))
	}
	for _, f := range r.Of(record.Charge) {
		switch {
		case f.Key == "charge_expected" && f.Measured:
			out.Total = part("Charge built up", f.Value, f.Expanded())
		case f.Key == "charge_weighed" && f.Measured:
			m := part("Weighed and trimmed", f.Value, f.Expanded())
			out.Mark = &m
		}
	}
	if out.Total.Name == "" || strings.TrimSpace(out.Total.Text) == "" {
		return nil
	}
	return out.Picture()
}
