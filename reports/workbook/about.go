package workbook

import (
	"fmt"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
)

// aboutPage says what this file is, what is live in it, where limits come
// from and which instruments were used.
func (b *book) aboutPage() *page {
	p := newPage("About", "About this file", 2.5, 36, 38, 58, 25, 17)
	p.landscape = true
	row := b.banner(p, 6)
	row = b.heading(p, row, "This file")
	words := "not signed by a key"
	if b.opts.public != nil {
		words = "signed by the tablet's Ed25519 key " + KeyID(b.opts.public)
	}
	site := fmt.Sprintf("%.2f %s", b.show("air pressure", b.rep.Site), b.unit("air pressure").Label)
	for _, l := range [][2]string{
		{"Written by", b.opts.Software},
		{"Exported", b.opts.Time.UTC().Format(time.RFC3339)},
		{"Layout", fmt.Sprintf("schema %d, record version %d", Schema, b.job.Version)},
		{"Units", b.opts.System.String()},
		{"Air pressure of the site", site},
		{"SHA-256 of the record", b.digest},
		{"Key", words},
		{"Saturation table", b.satLine()},
		{"Photos", b.photosLine()},
		{"Live cells", "Values that arithmetic gives follow the readings, and so do verdict words and strips. Uncertainties, band limits, and what is marked fixed below do not."},
	} {
		row = b.pair(p, row, l[0], l[1])
	}
	row = b.heading(p, row+1, "How each finding comes about")
	for i, h := range []string{"Finding", "", "Formula", "Source of the limit", "How far to trust the source", "In this file"} {
		p.text(row, i+1, head, h)
	}
	p.span(row, 1, 2)
	row++
	for _, f := range b.rep.Findings {
		source, conf := f.Source, string(f.Confidence)
		if source == "" {
			source, conf = "no limit", ""
		}
		p.text(row, 1, plain, "")
		for i, t := range []string{f.Label, f.Formula, source, conf, b.liveWord(f)} {
			p.text(row, i+2, wrapped, t)
			p.fit(row, i+2, i+2, t, wrapped)
		}
		row++
	}
	row = b.heading(p, row+1, "Instruments")
	if len(b.job.Instruments) == 0 {
		row = b.pair(p, row, "none named", "readings carry the doubt of their class of instrument, see Readings")
	}
	for _, in := range b.job.Instruments {
		var acc []string
		for _, a := range in.Accuracy {
			acc = append(acc, fmt.Sprintf("%s %v", a.Dim, a))
		}
		cal := "calibration date not entered"
		if in.Calibrated != "" {
			cal = "calibrated " + in.Calibrated
		}
		row = b.pair(p, row, in.ID+": "+in.Name, cal+"; "+strings.Join(acc, "; "))
	}
	row = b.heading(p, row+1, "Cautions")
	if f, err := fluid.Get(b.job.Text(record.Refrigerant)); err == nil && f.Info().Flammable {
		c := f.Info().Caution
		row = b.pair(p, row, f.Info().Brief(), c.Text+" ("+c.Cited()+")")
	}
	for _, s := range record.Steps {
		for _, c := range s.Cautions {
			row = b.pair(p, row, s.Title, c.Text+" ("+c.Source+")")
		}
	}
	words = "This file says what was read and what it was held against. It does not declare the unit or its wiring safe. The adopted local code, the equipment's plate and instructions, and licensed practice outrank every number here."
	p.text(row, 1, note, words)
	p.span(row, 1, 6)
	p.fit(row, 1, 6, words, note)
	return p
}

func (b *book) liveWord(f assess.Finding) string {
	if !f.Measured {
		return string(assess.NotMeasured)
	}
	return b.liveOf[f.Key]
}

func (b *book) satLine() string {
	if b.sat == nil {
		return "none: no refrigerant picked"
	}
	return b.sat.fluid + ". " + b.satWords()
}

func (b *book) photosLine() string {
	if len(b.opts.Photos) == 0 {
		return "none with this export"
	}
	return count(len(b.opts.Photos), "photo") + ", on the sheet " + photoSheet
}
