// Package consent writes the page that the owner signs before work begins: what is to
// be done, what it may cost, what it alters and what is lost by it.
//
// Nothing stands on the page that the record does not hold; what is not settled says
// so, and leaves a line to be filled in by hand.
package consent

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

const blank = "______________________"

// Write writes the page as PDF. paper is "Letter" or "A4". A job without a decision,
// or one that leaves the unit alone, has nothing to consent to.
func Write(w io.Writer, a *assess.Assessment, paper string) error {
	if paper != "Letter" && paper != "A4" {
		return fmt.Errorf("paper %q is not Letter or A4", paper)
	}
	j := a.Job()
	switch j.Text(record.Decision) {
	case "":
		return fmt.Errorf("consent of job %s: nothing is decided in Choice yet", j.ID)
	case "leave it":
		return fmt.Errorf("consent of job %s: the unit is left as it is", j.ID)
	}
	c, err := a.Choices()
	if err != nil {
		return err
	}
	parts := words(j, c)
	for size := 10.5; size >= 8; size -= 0.5 {
		pdf, fits := lay(j, parts, paper, size)
		if fits {
			return pdf.Output(w)
		}
	}
	return fmt.Errorf("consent of job %s: the text does not fit on one page; shorten the reason", j.ID)
}

// work says what each decision means for the unit.
var work = map[string][]string{
	"convert to single stage": {"The failed two-stage compressor comes out and a single-stage one goes in. Controls that only the second stage needed are taken out; every safety device stays in its circuit.",
		"The unit is then altered from what its maker built and listed. A second label beside the old plate will say what was changed."},
	"same compressor":          {"The failed compressor comes out and one of the same kind goes in. The unit stays as its maker built it."},
	"replace the unit":         {"The outdoor unit is replaced; the indoor coil and the lines stay."},
	"replace the whole system": {"Outdoor unit and indoor coil are replaced."},
}

var keys = map[string]string{"convert to single stage": "convert", "same compressor": "like", "replace the unit": "replace", "replace the whole system": "system"}

// words puts the job into plain language.
func words(j *record.Job, c *assess.Choices) (ps []part) {
	decision := j.Text(record.Decision)
	add := func(title string, lines ...string) {
		var keep []string
		for _, l := range lines {
			if l = strings.TrimSpace(l); l != "" {
				keep = append(keep, l)
			}
		}
		ps = append(ps, part{title, keep})
	}
	scope := work[decision]
	if r := j.Text(record.DecisionReason); r != "" {
		scope = append(append([]string{}, scope...), "Why this way: "+r)
	}
	add("What is to be done", scope...)
	if n, ok := j.Number(record.ConsentCeiling); ok {
		add("What it may cost", fmt.Sprintf("At most %s, in the currency of the offer. More than that, or other work, begins only after you have agreed to it in writing: a change order with its own price and date.", comma(n.Typed)))
	} else {
		add("What it may cost", "At most "+blank+". More than that, or other work, begins only after you have agreed to it in writing: a change order with its own price and date.")
	}
	var lost []string
	warranty := "Warranty after the work: not stated; ask before you sign."
	for _, o := range c.Options {
		if o.Key != keys[decision] {
			continue
		}
		lost = o.Lost
		if o.Warranty.Known && o.Warranty.Parts == 0 {
			warranty = "Warranty after the work: none on the new part, as offered."
		}
		if o.Warranty.Parts > 0 {
			warranty = fmt.Sprintf("Warranty after the work: %s on the new part, as offered.", years(o.Warranty.Parts))
		}
	}
	if w := j.Text(record.Warranty); w != "" {
		warranty += " The unit as it is: " + w + ". What is altered may end what its maker still grants."
	}
	lines := []string{warranty}
	if len(lost) > 0 {
		lines = append(lines, "You lose: "+strings.Join(lost, "; ")+".")
	}
	add("What you keep and what you lose", lines...)
	permit := map[string]string{record.PermitNeeded: "A permit and an inspection are needed here; work begins when the permit is there.", "not needed here": "As asked of the authority of this place, no permit is needed.",
		"": "Whether a permit is needed is not settled: ask the authority of this place before work begins.", "not asked yet": "Whether a permit is needed is not settled: ask the authority of this place before work begins."}[j.Text(record.ConsentPermit)]
	add("Permit and inspection", permit)
	who := j.Text(record.ConsentLicence)
	if who == "" {
		who = "licence " + blank + ", refrigerant certificate " + blank
	}
	add("Who does it", "Technician "+orBlank(j.Text(record.TechnicianRef))+": "+who+".", "Refrigerant is recovered, never let off. Local codes and the equipment's own instructions decide.")
	return ps
}

func orBlank(s string) string {
	if s == "" {
		return blank
	}
	return s
}

func years(n float64) string {
	if n == 1 {
		return "1 year"
	}
	return fmt.Sprintf("%.0f years", n)
}

// comma groups thousands.
func comma(x float64) string {
	s := fmt.Sprintf("%.2f", x)
	s = strings.TrimSuffix(s, ".00")
	whole, rest, dot := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if dot {
		return whole + "." + rest
	}
	return whole
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
	pdf.SetTitle("Before work begins: "+j.Text(record.OwnerRef), true)
	pdf.SetLang("en")
	pdf.SetCreator(version.String(), true)
	pdf.SetMargins(20, 16, 20)
	pdf.SetAutoPageBreak(false, 15)
	pdf.AddPage()
	tr := pdf.UnicodeTranslatorFromDescriptor("")
	wide, high := pdf.GetPageSize()
	body, line := wide-40, size*0.46
	pdf.SetFont("Helvetica", "B", 17)
	pdf.CellFormat(body, 9, tr("Before work begins: your consent"), "", 1, "L", false, 0, "")
	pdf.SetFont("Helvetica", "", size-1)
	var who []string
	for _, k := range []record.Key{record.OwnerRef, record.VisitDate, record.OldUnitModel, record.OldUnitSerial} {
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
	pdf.Ln(line * 2)
	pdf.SetFont("Helvetica", "", size)
	pdf.MultiCell(body, line, tr("I have read this page and agree to the work as described."), "", "L", false)
	for _, l := range []string{"Owner, signature and date", "Technician, signature and date"} {
		pdf.Ln(line * 3)
		pdf.CellFormat(body*0.75, line, tr(l), "T", 1, "L", false, 0, "")
	}
	fits := pdf.GetY() < high-16
	pdf.SetY(high - 13)
	pdf.SetFont("Helvetica", "", 7)
	pdf.CellFormat(body, 4, tr("Job "+j.ID+". No contract form of any place: local law decides what a contract needs. Written by "+version.String()+"."), "T", 0, "L", false, 0, "")
	return pdf, fits
}
