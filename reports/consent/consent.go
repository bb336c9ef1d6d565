// Package consent writes the page that the owner signs before work begins: what is to
// be done, what it may cost, what it alters and what is lost by it.
//
// Nothing stands on the page that the record does not hold; what is not settled says
// so, and leaves a line to be filled in by hand.
package consent

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/leaflet"
	"retrostage/reports/record"
	"retrostage/reports/version"
)

const blank = "______________________"

// Write writes the page as PDF. paper is "Letter" or "A4". A job without a decision,
// or one that leaves the unit alone, has nothing to consent to.
func Write(w io.Writer, a *assess.Assessment, paper string) error {
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
	l := leaflet.Leaflet{Job: j, Name: "Before work begins: " + j.Text(record.OwnerRef), Heading: "Before work begins: your consent",
		About: []record.Key{record.OwnerRef, record.VisitDate, record.OldUnitModel, record.OldUnitSerial}, Parts: words(j, c),
		Agree: "I have read this page and agree to the work as described.", Signs: []string{"Owner, signature and date", "Technician, signature and date"},
		Foot: "No contract form of any place: local law decides what a contract needs.", By: version.String()}
	if err = l.Write(w, paper); errors.Is(err, leaflet.ErrTooLong) {
		err = fmt.Errorf("%w; shorten the reason", err)
	}
	if err != nil {
		return fmt.Errorf("consent of job %s: %w", j.ID, err)
	}
	return nil
}

// Mark tells what one page says from what another does: the start of a digest of its words.
func Mark(a *assess.Assessment) (string, error) {
	c, err := a.Choices()
	if err != nil {
		return "", err
	}
	h := sha256.New()
	for _, p := range words(a.Job(), c) {
		fmt.Fprintf(h, "%q\n", append([]string{p.Title}, p.Lines...))
	}
	return "page " + hex.EncodeToString(h.Sum(nil)[:6]), nil
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
func words(j *record.Job, c *assess.Choices) (ps []leaflet.Part) {
	decision := j.Text(record.Decision)
	add := func(title string, lines ...string) {
		var keep []string
		for _, l := range lines {
			if l = strings.TrimSpace(l); l != "" {
				keep = append(keep, l)
			}
		}
		ps = append(ps, leaflet.Part{Title: title, Lines: keep})
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
