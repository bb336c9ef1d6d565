package workbook

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"

	"github.com/xuri/excelize/v2"
)

// book is a workbook in the making.
type book struct {
	file    *excelize.File
	job     *record.Job
	all     *assess.Assessment
	rep     *assess.Report // of all
	opts    Options
	pages   []*page
	names   map[string]string     // defined name -> absolute reference
	order   []string              // names in the order of definition
	meters  map[record.Key]string // key of a check-out reading -> the name of its cell
	wiring  controls
	ranking ranking
	styles  map[look]int
	liveOf  map[string]string // finding key -> how live its value is
	sat     *saturation
	digest  string
	kept    [2]string         // key and signature of a workbook that is written again
	counter *Countersignature // of a supervisor, nil without
	photoAt []int             // the row of each photo
	fault   error             // of this package; nothing is written with one
}

// name gives a cell a name. Names are field keys, so they are unique by
// construction; a second definition is a fault of this package.
func (b *book) name(n string, p *page, row, col int) {
	if _, twice := b.names[n]; twice {
		b.fault = errors.Join(b.fault, errors.New("name defined twice: "+n)) // the window stays, the workbook is not written
		return
	}
	b.names[n] = p.abs(row, col)
	b.order = append(b.order, n)
}

func (b *book) unit(dim units.Dimension) units.Unit { return units.Preferred(dim, b.opts.System) }

// show converts from SI to the unit that the workbook shows.
func (b *book) show(dim units.Dimension, si float64) float64 {
	return b.unit(dim).FromSI(si, b.rep.Site)
}

func (b *book) style(l look) (int, error) {
	if id, ok := b.styles[l]; ok {
		return id, nil
	}
	id, err := b.file.NewStyle(l.style())
	b.styles[l] = id
	return id, err
}

// places is how many decimals a shown value of dim gets.
func (b *book) places(dim units.Dimension) int {
	switch dim {
	case units.Vacuum, units.Airflow, units.Insulation, units.AirPerCap, units.Duration, units.Count, units.Money:
		return 0
	case units.Barometric, units.DuctPressure, units.Current, units.Ratio, units.Capacitance:
		return 2
	case units.Mass:
		if b.opts.System == units.SI {
			return 3
		}
	case units.Resistance, units.Bore:
		return 3
	}
	return 1
}

func decimals(n int) string {
	if n <= 0 {
		return "0"
	}
	return "0." + strings.Repeat("0", n)
}

// typedFormat shows a number with the decimals with which it was typed.
func typedFormat(text string) string {
	_, frac, _ := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	n := 0
	for n < len(frac) && frac[n] >= '0' && frac[n] <= '9' {
		n++
	}
	return decimals(min(n, 9))
}

// constant writes a factor into a formula.
func constant(x float64) string { return strconv.FormatFloat(x, 'G', 15, 64) }

// convert is the formula that turns ref, a number in unit from, into unit to.
// A gauge unit differs from an absolute one by the named cell site_abs.
func convert(ref string, from, to units.Unit) string {
	if from == to {
		return ref
	}
	f := ref
	if a := from.Scale / to.Scale; math.Abs(a-1) > 1e-14 {
		f += "*" + constant(a)
	}
	// Rounded, for 32 F is exact while its difference of offsets is not.
	if c := (from.Offset - to.Offset) / to.Scale; math.Abs(c) > 1e-12 {
		f += signed(math.Round(c*1e9) / 1e9)
	}
	switch {
	case from.Gauge && !to.Gauge:
		f += "+site_abs"
	case to.Gauge && !from.Gauge:
		f += "-site_abs"
	}
	return f
}

func signed(x float64) string {
	if x < 0 {
		return constant(x)
	}
	return "+" + constant(x)
}

// pageMargin is the margin of a printed page in inches, on all sides.
const pageMargin = 0.55

// setUp gives the sheet its print set-up, protection and view.
func (b *book) setUp(p *page) error {
	f := b.file
	if p.secret {
		if err := f.ProtectSheet(p.name, locked); err != nil {
			return err
		}
		// Not by SetSheetVisible, which reads every sheet again to see which is selected: a
		// quarter of all that writing costs.
		for i := range f.WorkBook.Sheets.Sheet {
			if f.WorkBook.Sheets.Sheet[i].Name == p.name {
				f.WorkBook.Sheets.Sheet[i].State = "hidden"
				return nil
			}
		}
		return fmt.Errorf("no sheet %s to hide", p.name)
	}
	on, off, one, many := true, false, 1, 0
	size, orient := 1, "portrait" // 1 is Letter, 9 is A4: ECMA-376 part 1, 18.3.1.63
	if b.opts.Paper == A4 {
		size = 9
	}
	if p.landscape {
		orient = "landscape"
	}
	b.paginate(p)
	if p.single {
		many = 1
	}
	margin, edge := pageMargin, 0.3
	if p.margin > 0 {
		margin, edge = p.margin, 0.2
	}
	demo := ""
	if b.job.Demo {
		demo = "&BDEMONSTRATION, INVENTED DATA&B   "
	}
	steps := []func() error{
		func() error {
			return f.SetSheetProps(p.name, &excelize.SheetPropsOptions{FitToPage: &on})
		},
		func() error {
			return f.SetPageLayout(p.name, &excelize.PageLayoutOptions{Size: &size, Orientation: &orient, FitToWidth: &one, FitToHeight: &many})
		},
		func() error {
			return f.SetPageMargins(p.name, &excelize.PageLayoutMarginsOptions{Left: &margin, Right: &margin, Top: &margin, Bottom: &margin, Header: &edge, Footer: &edge})
		},
		func() error {
			return f.SetHeaderFooter(p.name, &excelize.HeaderFooterOptions{
				OddFooter: "&L&8" + demo + "Job " + footerText(b.job.ID) + "   " + p.name + "&R&8Record " + b.digest[:12] + "   Page &P of &N"})
		},
		func() error {
			return f.SetSheetView(p.name, 0, &excelize.ViewOptions{ShowGridLines: &off})
		},
		func() error { return f.ProtectSheet(p.name, locked) },
		func() error {
			return f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", Scope: p.name, RefersTo: p.area()})
		},
		func() error {
			if p.repeat[0] == 0 {
				return nil
			}
			return f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: p.name,
				RefersTo: fmt.Sprintf("'%s'!$%d:$%d", p.name, p.repeat[0], p.repeat[1])})
		},
	}
	for _, s := range steps {
		if err := s(); err != nil {
			return err
		}
	}
	return nil
}

// area is what is printed of a sheet: all that is on it, or, of one that is there for
// who wants to check, an empty cell below, of which a program makes no page.
func (p *page) area() string {
	last := p.printed
	for _, r := range p.rows {
		if p.printed == 0 {
			last = max(last, len(r))
		}
	}
	if p.evidence {
		return p.abs(len(p.rows)+20, 1)
	}
	to, _ := strings.CutPrefix(p.abs(len(p.rows), max(1, last)), "'"+p.name+"'!")
	return p.abs(1, 1) + ":" + to
}

// footerText keeps job text out of the codes of headers and footers.
func footerText(s string) string { return strings.ReplaceAll(s, "&", "&&") }

// locked allows looking and resizing, nothing else. There is no password: the
// lock guards against slips, the seal tells of the rest.
var locked = &excelize.SheetProtectionOptions{FormatColumns: true, FormatRows: true, SelectLockedCells: true, SelectUnlockedCells: true, EditObjects: true, EditScenarios: true}
