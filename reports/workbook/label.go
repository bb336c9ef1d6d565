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
	figure := func(name, key string) {
		f, err := record.ByKey(key)
		x, ok := b.job.SI(key, b.rep.Site)
		if err != nil || !ok {
			text(name, "")
			return
		}
		p.text(row, 1, big, name)
		p.live(row, 2, big, key, b.show(f.Dim, x), decimals(b.places(f.Dim))+` "`+b.unit(f.Dim).Label+`"`)
		p.span(row, 2, 4)
		p.heights[row] = 30
		row++
	}
	text("Date", b.job.Text("visit_date"))
	text("Refrigerant", b.refrigerant())
	figure("Total charge", "label_charge")
	text("Compressor", b.job.Text("new_compressor_model"))
	text("Compressor serial", b.job.Text("new_compressor_serial"))
	figure("Compressor RLA", "new_rla")
	figure("Compressor LRA", "new_lra")
	figure("Run capacitor", "cap_fitted")
	figure("Supply", "rated_voltage")
	text("Minimum circuit ampacity", b.asked("wire"))
	text("Largest breaker or fuse", b.asked("breaker"))
	text("Done by (reference)", b.job.Text("technician_ref"))
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
	name := b.job.Text("refrigerant")
	if f, err := fluid.Get(name); err == nil && f.Info().Flammable {
		return name + ", " + f.Info().Class + ", FLAMMABLE"
	}
	return name
}
