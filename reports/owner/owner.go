// Package owner writes the page that stays with the owner: one sheet in plain
// words about what was done, what it means, and what to look after.
//
// What the technician wrote is printed as written. Nothing on the page judges
// the unit beyond what the findings say, and no number stands on it that the
// record does not hold.
package owner

import (
	"fmt"
	"io"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/version"

	"codeberg.org/go-pdf/fpdf"
)

// part is one heading with what stands below it.
type part struct {
	title string
	lines []string
}

// Write writes the page as PDF. paper is "Letter" or "A4". Text too long for
// one page at the smallest size that can be read, 8 point, is an error.
func Write(w io.Writer, j *record.Job, rep *assess.Report, paper string) error {
	if paper != "Letter" && paper != "A4" {
		return fmt.Errorf("paper %q is not Letter or A4", paper)
	}
	parts := words(j, rep)
	for size := 11.0; size >= 8; size -= 0.5 {
		pdf, fits := lay(j, parts, paper, size)
		if !fits {
			continue
		}
		if err := pdf.Output(w); err != nil {
			return fmt.Errorf("owner's page of job %s: %w", j.ID, err)
		}
		return nil
	}
	return fmt.Errorf("owner's page of job %s: the text does not fit on one page; shorten what was done, the root cause or the advice", j.ID)
}

// words puts the job into plain language.
func words(j *record.Job, rep *assess.Report) []part {
	var ps []part
	add := func(title string, lines ...string) {
		var keep []string
		for _, l := range lines {
			if l = strings.TrimSpace(l); l != "" {
				keep = append(keep, l)
			}
		}
		if keep != nil {
			ps = append(ps, part{title, keep})
		}
	}
	add("What was done", j.Text(record.WorkDone))
	if j.Text(record.Decision) == "convert to single stage" {
		add("What it means",
			"Your outdoor unit used to run at two speeds of cooling. It now has one: it is either on or off, and when it is on it cools with its full strength.",
			"You may notice that it starts and stops more often on mild days and that the air from the vents is cooler while it runs. Ask whether the thermostat was set to one stage of cooling.",
			"A new label beside the old plate says what is in the unit now. Please leave both in place: whoever services it next needs them.")
	}
	add("Why the old compressor failed", j.Text(record.RootCause),
		"If this is not removed, the new compressor can go the same way.")
	if j.Text(record.RootCause) == "" {
		ps = ps[:len(ps)-1]
	}
	n := rep.Count()
	judged := n[assess.Within] + n[assess.Outside] + n[assess.TooClose]
	checks := []string{}
	if judged > 0 {
		checks = append(checks, fmt.Sprintf("Of %d checks made on the day, %s within their limits, %s outside and %s too close to call.", judged, were(n[assess.Within]), were(n[assess.Outside]), were(n[assess.TooClose])))
	}
	checks = append(checks, against(rep)...)
	add("What was checked", checks...)
	add("What is still open", j.Text(record.OpenConditions))
	// Filter, clearance and washing: common practice, no source.
	add("What to look after", j.Text(record.OwnerAdvice),
		"Change or clean the indoor air filter as its maker says, at least at the start of each cooling season.",
		"Keep plants, leaves and boxes two feet (60 cm) away from the outdoor unit on all sides.",
		"Have the outdoor coil washed when you can see lint or dirt between its fins, and before each summer; the power has to be locked off for that.")
	add("Call the technician when",
		"it trips its breaker, even once: do not reset it again; it hums without starting; ice or oil shows on the pipes; or it runs without a break and the house does not get cooler.")
	add("Please do not",
		"open the unit or its disconnect. Inside is mains voltage, also for a while after it is switched off, and refrigerant under pressure.")
	return ps
}

// against is what stands against the job, for its owner: what is outside or too close
// to call, what was not measured, and who left what as it is.
func against(rep *assess.Report) (lines []string) {
	var missing []string
	said := map[string]bool{}
	for _, m := range rep.Against {
		l := strings.ToUpper(string(m.Stand[:1])) + string(m.Stand[1:]) + ": " + m.Label + "."
		switch {
		case m.Stand == assess.IsMissing:
			missing = append(missing, m.Label)
			continue
		case m.Stand == assess.Reservation:
			l = strings.ToUpper(string(m.Was[:1])) + string(m.Was[1:]) + ": " + m.Label + ", left as it is."
			if r := m.Reserved; !said[r.Text] {
				l += " " + r.By + " says why: " + r.Text
				said[r.Text] = true
			}
		}
		lines = append(lines, l)
	}
	const most = 6
	switch n := len(missing); {
	case n > most:
		lines = append(lines, fmt.Sprintf("Not measured: %s and %d more.", strings.Join(missing[:most], "; "), n-most))
	case n > 0:
		lines = append(lines, "Not measured: "+strings.Join(missing, "; ")+".")
	}
	return lines
}

func lay(j *record.Job, parts []part, paper string, size float64) (*fpdf.Fpdf, bool) {
	pdf := fpdf.New("P", "mm", paper, "")
	// The same job gives the same bytes.
	at := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	if n := len(j.Entries); n > 0 {
		at = j.Entries[n-1].Time
	}
	pdf.SetCreationDate(at)
	pdf.SetModificationDate(at)
	pdf.SetCatalogSort(true)
	pdf.SetTitle("For the owner: "+j.Text(record.OwnerRef), true)
	pdf.SetLang("en")
	pdf.SetCreator(version.String(), true)
	pdf.SetMargins(20, 18, 20)
	pdf.SetAutoPageBreak(false, 15)
	pdf.AddPage()
	tr := pdf.UnicodeTranslatorFromDescriptor("")
	wide, high := pdf.GetPageSize()
	body := wide - 40
	line := size * 0.46

	pdf.SetFont("Helvetica", "B", 18)
	pdf.CellFormat(body, 9, tr("Your air conditioner: what was done"), "", 1, "L", false, 0, "")
	pdf.SetFont("Helvetica", "", size-1)
	var who []string
	for _, k := range []record.Key{record.OwnerRef, record.VisitDate, record.OldUnitModel} {
		if t := j.Text(k); t != "" {
			who = append(who, t)
		}
	}
	pdf.MultiCell(body, line, tr(strings.Join(who, "   -   ")), "", "L", false)
	if j.Demo {
		pdf.SetFillColor(255, 240, 190)
		pdf.SetFont("Helvetica", "B", size)
		pdf.Ln(1.5)
		pdf.CellFormat(body, line+3, tr("DEMONSTRATION: invented data. No such unit or owner exists."), "1", 1, "L", true, 0, "")
	}
	for _, p := range parts {
		pdf.Ln(line * 0.6)
		pdf.SetFont("Helvetica", "B", size+1.5)
		pdf.CellFormat(body, line+2, tr(p.title), "B", 1, "L", false, 0, "")
		pdf.Ln(1)
		pdf.SetFont("Helvetica", "", size)
		for _, l := range p.lines {
			pdf.MultiCell(body, line, tr(l), "", "L", false)
			pdf.Ln(line * 0.25)
		}
	}
	fits := pdf.GetY() < high-18
	pdf.SetY(high - 14)
	pdf.SetFont("Helvetica", "", 8)
	pdf.CellFormat(body, 4, tr("Job "+j.ID+". Local codes and the equipment's own instructions decide. This page is no guarantee."), "T", 1, "L", false, 0, "")
	pdf.SetFont("Helvetica", "", 6)
	pdf.CellFormat(body, 3, tr("Written by "+version.String()+"."), "", 0, "L", false, 0, "")
	return pdf, fits
}

func were(n int) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}
