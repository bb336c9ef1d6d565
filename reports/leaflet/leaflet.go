// Package leaflet lays out a page in plain words for an owner: headings with
// sentences below them, and lines to be signed. Text too long for one page in type that
// is read with ease goes on to a second; what does not fit on two is an error.
package leaflet

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"retrostage/reports/record"

	"codeberg.org/go-pdf/fpdf"
)

// Part is one heading with what stands below it.
type Part struct {
	Title string
	Lines []string
}

// Leaflet is such a page.
type Leaflet struct {
	Job     *record.Job
	Name    string // in the file's properties
	Heading string
	About   []record.Key // stand below the heading
	Parts   []Part
	Agree   string   // above the lines to be signed
	Signs   []string // who signs
	Foot    string
	By      string // what wrote it
}

// ErrTooLong says that the text does not fit on two pages.
var ErrTooLong = errors.New("the text does not fit on two pages")

// The largest and the smallest type in points.
const largest, smallest = 11.0, 9.0

// Write writes the page as PDF. paper is "Letter" or "A4".
func (l *Leaflet) Write(w io.Writer, paper string) error {
	if paper != "Letter" && paper != "A4" {
		return fmt.Errorf("paper %q is not Letter or A4", paper)
	}
	for pages := 1; pages <= 2; pages++ {
		for size := largest; size >= smallest; size -= 0.5 {
			if pdf := l.lay(paper, size); pdf.PageCount() <= pages {
				return pdf.Output(w)
			}
		}
	}
	return ErrTooLong
}

func (l *Leaflet) lay(paper string, size float64) *fpdf.Fpdf {
	pdf := fpdf.New("P", "mm", paper, "")
	// The same job gives the same bytes.
	at := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	if n := len(l.Job.Entries); n > 0 {
		at = l.Job.Entries[n-1].Time
	}
	pdf.SetCreationDate(at)
	pdf.SetModificationDate(at)
	pdf.SetCatalogSort(true)
	pdf.SetTitle(l.Name, true)
	pdf.SetLang("en")
	pdf.SetCreator(l.By, true)
	pdf.SetMargins(20, 17, 20)
	pdf.SetAutoPageBreak(true, 18)
	tr := pdf.UnicodeTranslatorFromDescriptor("")
	wide, high := pdf.GetPageSize()
	body, line := wide-40, size*0.46
	pdf.AliasNbPages("{pages}")
	pdf.SetFooterFunc(func() {
		pdf.SetY(high - 14)
		pdf.SetFont("Helvetica", "", 8)
		pdf.CellFormat(body, 4, tr("Job "+l.Job.ID+". "+l.Foot), "T", 1, "L", false, 0, "")
		pdf.SetFont("Helvetica", "", 6)
		pdf.CellFormat(body, 3, tr(fmt.Sprintf("Page %d of {pages}. Written by %s.", pdf.PageNo(), l.By)), "", 0, "L", false, 0, "")
	})
	pdf.AddPage()

	pdf.SetFont("Helvetica", "B", 18)
	pdf.CellFormat(body, 9, tr(l.Heading), "", 1, "L", false, 0, "")
	pdf.SetFont("Helvetica", "", size-1)
	var about []string
	for _, k := range l.About {
		if t := l.Job.Text(k); t != "" {
			about = append(about, t)
		}
	}
	pdf.MultiCell(body, line, tr(strings.Join(about, "   -   ")), "", "L", false)
	if l.Job.Demo {
		pdf.SetFillColor(255, 240, 190)
		pdf.SetFont("Helvetica", "B", size)
		pdf.Ln(1.5)
		pdf.CellFormat(body, line+3, tr("DEMONSTRATION: invented data. No such unit or owner exists."), "1", 1, "L", true, 0, "")
	}
	for _, p := range l.Parts {
		if pdf.GetY() > high-18-4*line { // a heading is not left alone at the foot
			pdf.AddPage()
		}
		pdf.Ln(line * 0.6)
		pdf.SetFont("Helvetica", "B", size+1.5)
		pdf.CellFormat(body, line+2, tr(p.Title), "B", 1, "L", false, 0, "")
		pdf.Ln(1)
		pdf.SetFont("Helvetica", "", size)
		for _, s := range p.Lines {
			pdf.MultiCell(body, line, tr(s), "", "L", false)
			pdf.Ln(line * 0.25)
		}
	}
	if n := float64(len(l.Signs)); n > 0 {
		if pdf.GetY() > high-18-(6+4*n)*line { // what is agreed stands above who signs it
			pdf.AddPage()
		}
		pdf.Ln(line * 2)
		pdf.SetFont("Helvetica", "", size)
		pdf.MultiCell(body, line, tr(l.Agree), "", "L", false)
	}
	for _, s := range l.Signs {
		pdf.Ln(line * 3)
		pdf.CellFormat(body*0.75, line, tr(s), "T", 1, "L", false, 0, "")
	}
	return pdf
}
