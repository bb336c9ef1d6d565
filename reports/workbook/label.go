package workbook

import (
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
)

// labelPage is the text for the new label of the converted unit: what its
// plate no longer says.
func (b *book) labelPage() *page {
	p := newPage("Label", "Label for the converted unit", 34, 20, 14, 26)
	row := b.banner(p, 4)
	words := "To be fixed beside the old plate, which stays readable. Cut along the frame."
	p.text(row, 1, note, words)
	p.span(row, 1, 4)
	row += 2
	p.text(row, 1, big, "THIS UNIT WAS CONVERTED TO A SINGLE-STAGE COMPRESSOR")
	p.span(row, 1, 4)
	p.heights[row] = 40
	row++
	text := func(name, value string) {
		if value == "" {
			value = "................................"
		}
		p.text(row, 1, big, name)
		p.text(row, 2, big, value)
		p.span(row, 2, 4)
		p.heights[row] = 30
		row++
	}
	figure := func(name string, key record.Key) {
		f, err := record.ByKey(key)
		x, ok := b.job.SI(key, b.rep.Site)
		if err != nil || !ok {
			text(name, "")
			return
		}
		p.text(row, 1, big, name)
		p.live(row, 2, big, key.String(), b.show(f.Dim, x), decimals(b.places(f.Dim))+` "`+b.unit(f.Dim).Label+`"`)
		p.span(row, 2, 4)
		p.heights[row] = 30
		row++
	}
	text("Date", b.job.Text(record.VisitDate))
	text("Refrigerant", b.refrigerant())
	figure("Total charge", record.LabelCharge)
	text("Compressor", b.job.Text(record.NewCompressorModel))
	text("Compressor serial", b.job.Text(record.NewCompressorSerial))
	figure("Compressor RLA", record.NewRLA)
	figure("Compressor LRA", record.NewLRA)
	figure("Run capacitor", record.CapFitted)
	figure("Supply", record.RatedVoltage)
	text("Minimum circuit ampacity", b.asked("wire"))
	text("Largest breaker or fuse", b.asked("breaker"))
	text("Done by (reference)", b.job.Text(record.TechnicianRef))
	row++
	words = "Values not filled in are to be written by hand before the label is fixed. Circuit ampacity and overcurrent protection are for the new compressor, by the adopted local code."
	p.text(row, 1, note, words)
	p.span(row, 1, 4)
	p.fit(row, 1, 4, words, note)
	return p
}

// refrigerant names the refrigerant, with its class where that is a flammable
// one.
func (b *book) refrigerant() string {
	name := b.job.Text(record.Refrigerant)
	if f, err := fluid.Get(name); err == nil && f.Info().Flammable {
		return name + ", " + f.Info().Class + ", FLAMMABLE"
	}
	return name
}
