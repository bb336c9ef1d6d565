// Package label writes the label that goes beside the old plate: what is in the
// unit now and how its charge was reached, with a code that holds the same text
// and needs no network.
//
// Nothing on it judges. A charge that no check at running state stands behind is
// called weighed, not verified.
package label

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/version"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"

	"codeberg.org/go-pdf/fpdf"
	"rsc.io/qr"
)

// True size, mm.
const (
	Width, Height = 150.0, 100.0
	margin        = 5.0
	codeSide      = 46.0
)

// unknown stands where the record holds nothing: an empty place could be filled in by
// anybody later.
const unknown = "not entered"

// Lines are the words of the label, the same in print and in the code.
func Lines(j *record.Job, r *assess.Report) []string {
	get := func(k record.Key) string {
		e, ok := j.Entry(k)
		if !ok || e.Value == "" {
			return unknown
		}
		if u, err := units.Lookup(k.Field().Dim, e.Unit); err == nil && u.Label != "" {
			return e.Value + " " + strings.ReplaceAll(u.Label, "µ", "u") // a code holds plain letters surely
		}
		return e.Value
	}
	head := "CONVERTED UNIT: one stage. The charge and electrical data of the old plate no longer hold."
	if j.Text(record.Decision) != "convert to single stage" {
		head = "REPAIRED UNIT: charge as below."
	}
	out := []string{head,
		"Outdoor unit " + get(record.OldUnitSerial) + "; compressor " + get(record.NewCompressorSerial),
		"Refrigerant " + get(record.Refrigerant) + class(j.Text(record.Refrigerant)) + "; total charge " + get(record.LabelCharge),
		"Charge: " + reached(r),
		"Compressor RLA " + get(record.NewRLA) + ", LRA " + get(record.NewLRA) + ", " + get(record.RatedVoltage) + "; run capacitor " + get(record.CapFitted),
		circuit(j, r),
		"Date " + get(record.VisitDate) + "; technician " + get(record.TechnicianRef) + "; job " + j.ID,
		"Old plate stays; superseded where it states compressor, charge, circuit ampacity and overcurrent device.",
		"The adopted code, the authority having jurisdiction and the makers' instructions decide."}
	if j.Demo {
		out = append([]string{"DEMO: no label of a real unit"}, out...)
	}
	return out
}

func class(name string) string {
	f, err := fluid.Get(name)
	if err != nil {
		return ""
	}
	return ", class " + f.Info().Class
}

// reached says how the charge came about: verified only where the running check was
// judged within, warm enough outdoors and settled.
func reached(r *assess.Report) string {
	is := func(v assess.Verdict, keys ...string) bool {
		return slices.ContainsFunc(r.Findings, func(f assess.Finding) bool { return f.Verdict == v && slices.Contains(keys, f.Key) })
	}
	ok := func(keys ...string) bool { return is(assess.Within, keys...) }
	switch {
	case !ok("label_error"):
		return "NOT VERIFIED: label and scale were not shown to be the same"
	case is(assess.Outside, "charge_balance", "charge_plate", "charge_expected"):
		return "NOT VERIFIED: what was weighed in is not what plate and lines ask for"
	case !ok("outdoor_window"):
		return "weighed, not verified: outdoor air too cold, or not read, for a check; return visit due"
	case !ok("settled") || !ok("subcooling", "superheat_error"):
		return "weighed, not verified by a running check"
	}
	return "weighed in, then checked running by subcooling or superheat"
}

// circuit are ampacity and largest overcurrent device after conversion, as the
// findings that hold them reckon them; without the fan's current neither is the
// unit's.
func circuit(j *record.Job, r *assess.Report) string {
	mca, mocp := "not reckoned", "not reckoned"
	for _, f := range r.Findings {
		switch {
		case j.Text(record.FanFLA) == "":
		case f.Key == "mca_wire" && f.Measured:
			mca = fmt.Sprintf("%.1f A", f.Value)
		case f.Key == "breaker_fit" && f.Measured && f.Band.High != nil:
			mocp = fmt.Sprintf("%.0f A", *f.Band.High)
		}
	}
	return "Minimum circuit ampacity " + mca + "; largest overcurrent device " + mocp
}

// Write writes the label as PDF at true size. Text that does not fit is an error.
func Write(w io.Writer, j *record.Job, r *assess.Report) error {
	lines := Lines(j, r)
	code, err := qr.Encode(strings.Join(lines, "\n"), qr.L)
	if err != nil {
		return fmt.Errorf("label of job %s: its text is too long for a code: %w", j.ID, err)
	}
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: Width, Ht: Height}})
	p.SetMargins(margin, margin, margin)
	p.SetAutoPageBreak(false, 0)
	p.SetTitle("Label of job "+j.ID, true)
	p.SetCreator(version.String(), true)
	p.AddPage()
	p.Rect(1.5, 1.5, Width-3, Height-3, "D")
	tr := p.UnicodeTranslatorFromDescriptor("")
	for i, l := range lines {
		style := ""
		if i == 0 || strings.HasPrefix(l, "CONVERTED") {
			style = "B"
		}
		p.SetFont("Helvetica", style, 9)
		p.SetX(margin)
		p.MultiCell(Width-3*margin-codeSide, 4.2, tr(l), "", "L", false)
		p.Ln(1)
	}
	if p.GetY() > Height-margin {
		return fmt.Errorf("label of job %s: the text does not fit", j.ID)
	}
	square(p, code)
	return p.Output(w)
}

// square draws the code with its quiet zone of four modules.
func square(p *fpdf.Fpdf, code *qr.Code) {
	step := codeSide / float64(code.Size+8)
	x0, y0 := Width-margin-codeSide, (Height-codeSide)/2
	p.SetFillColor(0, 0, 0)
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				p.Rect(x0+step*float64(x+4), y0+step*float64(y+4), step, step, "F")
			}
		}
	}
}
