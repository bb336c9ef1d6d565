package workbook

import (
	"fmt"
	"time"

	"retrostage/reports/assess"

	"github.com/xuri/excelize/v2"
)

// The names of the cells that the supervisor fills in.
const (
	signName     = "sign_name"
	signDate     = "sign_date"
	signDecision = "sign_decision"
	signRemarks  = "sign_remarks"
)

// What the signature block accepts as a decision.
const (
	Accept = "accept"
	Return = "return"
)

// Decisions lists them.
var Decisions = []string{Accept, Return}

func (b *book) heading(p *page, row int, s string) int {
	p.text(row, 1, section, s)
	p.span(row, 1, 6)
	p.heights[row] = 20
	return row + 1
}

// pair is one line of label and text.
func (b *book) pair(p *page, row int, name, text string) int {
	p.text(row, 1, label, name)
	p.span(row, 1, 2)
	p.text(row, 3, wrapped, text)
	p.span(row, 3, 6)
	p.fit(row, 3, 6, text, wrapped)
	return row + 1
}

// verdictOf lends a matter the shape of a verdict.
var verdictOf = map[assess.Stand]assess.Verdict{assess.IsOutside: assess.Outside, assess.IsClose: assess.TooClose,
	assess.IsMissing: assess.NotMeasured, assess.Reservation: assess.TooClose}

// signature is the block that is filled in by hand: on the right of the job, for it
// is to be seen before anybody scrolls.
func (f *front) signature(top int) {
	f.text(top, frontSign, section, "Supervisor signs here")
	f.span(top, frontSign, frontLast)
	code := signCode(f.b.digest)
	words := "Fill in the four boxes and save. Date like 2026-08-14. Decision: accept " + code + " or return " + code + ", as the list of its box offers; the code goes with this record."
	f.text(top+1, frontSign, note, words)
	f.block(top+1, frontSign, top+3, frontLast)
	f.signs = map[string][2]int{}
	row := top + 4
	for _, l := range []struct {
		name, label string
		k           lookKind
		rows        int
	}{{signName, "Name", fill, 1}, {signDate, "Date", fillDate, 1}, {signDecision, "Decision", fill, 1}, {signRemarks, "Remarks", fill, 3}} {
		f.text(row, frontSign, label, l.label)
		f.block(row, frontSign, row+l.rows-1, frontSign)
		num := ""
		if l.k == fillDate {
			num = "yyyy-mm-dd"
		}
		f.set(row, frontBox, cell{value: f.b.signed(l.name), look: look{l.k, num}, open: true})
		f.block(row, frontBox, row+l.rows-1, frontLast)
		f.signs[l.name] = [2]int{row, frontBox}
		for r := row; r < row+l.rows; r++ {
			f.heights[r] = max(f.heights[r], 20)
		}
		row += l.rows
	}
}

func (f *front) colours(top int) func(*excelize.File, *page) error {
	return func(file *excelize.File, p *page) error {
		if f.judged[0] > 0 {
			if err := verdictColours(file, p.name, fmt.Sprintf("%s:%s", ref(f.judged[0], frontLast), ref(f.judged[1], frontLast)), ref(f.judged[0], frontLast)); err != nil {
				return err
			}
		}
		return validate(file, p.name, f.signs[signName][0], frontBox, signCode(f.b.digest))
	}
}

// signed is what a trial puts into the signature block; a date goes in as the
// day number that a spreadsheet program would store.
func (b *book) signed(name string) any {
	s := b.opts.Sign
	switch name {
	case signName:
		return text(s.Name)
	case signDecision:
		if s.Decision == Accept || s.Decision == Return {
			return s.Decision + " " + signCode(b.digest)
		}
		return text(s.Decision)
	case signRemarks:
		return text(s.Remarks)
	}
	if d, err := time.Parse(time.DateOnly, s.Date); err == nil {
		return int(d.Sub(epoch1900).Hours() / 24)
	}
	return text(s.Date)
}

// text is s, or nothing at all for an empty cell.
func text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// validate restricts what the four boxes from row on accept.
func validate(f *excelize.File, sheet string, row, col int, code string) error {
	at := func(i int) string { return ref(row+i, col) }
	name := excelize.NewDataValidation(true)
	name.SetSqref(at(0))
	if err := name.SetRange(2, 100, excelize.DataValidationTypeTextLength, excelize.DataValidationOperatorBetween); err != nil {
		return err
	}
	name.SetError(excelize.DataValidationErrorStyleStop, "Name", "Between 2 and 100 characters.")
	name.SetInput("Name", "Whoever answers for this job.")

	date := excelize.NewDataValidation(true)
	date.SetSqref(at(1))
	if err := date.SetRange(36526, 73050, excelize.DataValidationTypeDate, excelize.DataValidationOperatorBetween); err != nil { // 2000-01-01 to 2099-12-31
		return err
	}
	date.SetError(excelize.DataValidationErrorStyleStop, "Date", "A date like 2026-08-14.")
	date.SetInput("Date", "A date like 2026-08-14.")

	decision := excelize.NewDataValidation(true)
	decision.SetSqref(at(2))
	if err := decision.SetDropList([]string{Accept + " " + code, Return + " " + code}); err != nil {
		return err
	}
	decision.SetError(excelize.DataValidationErrorStyleStop, "Decision", "accept "+code+" or return "+code+".")
	decision.SetInput("Decision", "accept: the job is done. return: something is to be put right; say what under Remarks.")

	remarks := excelize.NewDataValidation(true)
	remarks.SetSqref(at(3))
	if err := remarks.SetRange(0, 2000, excelize.DataValidationTypeTextLength, excelize.DataValidationOperatorBetween); err != nil {
		return err
	}
	remarks.SetError(excelize.DataValidationErrorStyleStop, "Remarks", "Up to 2000 characters.")
	for _, v := range []*excelize.DataValidation{name, date, decision, remarks} {
		if err := f.AddDataValidation(sheet, v); err != nil {
			return err
		}
	}
	return nil
}
