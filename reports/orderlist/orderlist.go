// Package orderlist writes on one page what is to be ordered and brought for a conversion,
// and above it what speaks against ordering yet.
package orderlist

import (
	"fmt"
	"io"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/leaflet"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/reports/version"
)

// Write writes the page as PDF. paper is "Letter" or "A4". A job of which nothing is to be
// ordered is an error that says why.
func Write(w io.Writer, a *assess.Assessment, paper string) error {
	j := a.Job()
	ps, err := parts(a)
	if err != nil {
		return fmt.Errorf("order list of job %s: %w", j.ID, err)
	}
	l := leaflet.Leaflet{Job: j, Name: "To order and to bring: " + j.ID, Heading: "To order and to bring",
		About: []record.Key{record.VisitDate, record.OldUnitModel, record.OldUnitSerial}, Parts: ps,
		Foot: "As known when it was written; plates and the maker's data decide.", By: version.String()}
	if err := l.Write(w, paper); err != nil {
		return fmt.Errorf("order list of job %s: %w", j.ID, err)
	}
	return nil
}

// parts are the page's: what is against ordering, the order, what to bring.
func parts(a *assess.Assessment) ([]leaflet.Part, error) {
	m, err := a.Matches()
	switch {
	case err != nil:
		return nil, err
	case m.Refused != "":
		return nil, fmt.Errorf("%s", m.Refused)
	case len(m.Order) == 0:
		return nil, fmt.Errorf("nothing is to be ordered")
	}
	var against []string
	of := 0 // the list is for the one chosen, else for the first
	if m.Chosen >= 0 {
		of = m.Chosen
	} else {
		against = append(against, "No compressor is entered in Match: this is for the first of the list.")
	}
	if of < len(m.Ranked) {
		for _, v := range []match.Verdict{match.Misfit, match.Open} {
			for _, r := range m.Ranked[of].Reasons {
				if r.Verdict == v {
					word := "does not fit"
					if v == match.Open {
						word = "not known"
					}
					against = append(against, strings.TrimSpace(fmt.Sprintf("%s, %s: %s. %s", r.Topic, word, r.Words, r.Next)))
				}
			}
		}
	}
	if m.Order[0].Spec == "" {
		against = append(against, "The compressor has no name.")
	}
	var out []leaflet.Part
	if len(against) > 0 {
		out = append(out, leaflet.Part{Title: "Before it is ordered", Lines: against})
	}
	return append(out, leaflet.Part{Title: "To order", Lines: lines(m.Order)}, leaflet.Part{Title: "To bring", Lines: lines(m.Bring)}), nil
}

func lines(ls []match.Line) (out []string) {
	for _, l := range ls {
		t := strings.ToUpper(l.What[:1]) + l.What[1:]
		if l.Spec != "" {
			t += ": " + l.Spec
		}
		if l.Provisional {
			t += " (provisional: what is found on opening can change it)"
		}
		if l.Why != "" {
			t += ". " + strings.ToUpper(l.Why[:1]) + l.Why[1:] + "."
		}
		out = append(out, strings.ReplaceAll(t, "..", "."))
	}
	return out
}
