package workbook

import (
	"fmt"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"

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

// handOverPage is what the supervisor reads and signs.
func (b *book) handOverPage() *page {
	p := newPage("Hand-over", "Hand-over", 3.5, 30, 15, 12, 15, 22)
	row := b.banner(p, 6)
	row = b.identity(p, row)
	row = b.counts(p, row)
	row, shade := b.attention(p, row)
	row = b.done(p, row)
	row = b.openWork(p, row)
	sign := row
	row = b.signature(p, row)
	p.together(sign, row)
	p.text(row, 1, note, "SHA-256 of the record: "+b.digest)
	p.span(row, 1, 6)
	p.fit(row, 1, 6, p.at(row, 1).value.(string), note)
	p.finish = func(f *excelize.File, p *page) error {
		if shade[0] > 0 {
			if err := verdictColours(f, p.name, fmt.Sprintf("%s:%s", ref(shade[0], 6), ref(shade[1], 6)), ref(shade[0], 6)); err != nil {
				return err
			}
		}
		return validate(f, p.name, sign+2)
	}
	return p
}

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

func (b *book) identity(p *page, row int) int {
	row = b.heading(p, row, "The job")
	join := func(keys ...record.Key) string {
		var s []string
		for _, k := range keys {
			if t := b.job.Text(k); t != "" {
				s = append(s, t)
			}
		}
		if s == nil {
			return "not entered"
		}
		return strings.Join(s, ", ")
	}
	for _, l := range [][2]string{
		{"Owner reference", join(record.OwnerRef)},
		{"Date of visit", join(record.VisitDate)},
		{"Technician reference", join(record.TechnicianRef)},
		{"Outdoor unit: type, serial", join(record.OldUnitModel, record.OldUnitSerial)},
		{"Refrigerant, metering", join(record.Refrigerant, record.Metering)},
		{"Failed compressor: type, serial", join(record.OldCompressorModel, record.OldCompressorSerial)},
		{"What failed, oil", join(record.FailureKind, record.OilState)},
		{"Why it failed", join(record.RootCause)},
		{"New compressor: type, serial", join(record.NewCompressorModel, record.NewCompressorSerial)},
		{"Decision", join(record.Decision)},
	} {
		row = b.pair(p, row, l[0], l[1])
	}
	return row + 1
}

func (b *book) counts(p *page, row int) int {
	row = b.heading(p, row, "Findings")
	n := b.rep.Count()
	for _, v := range []assess.Verdict{assess.Within, assess.Outside, assess.TooClose, assess.NotMeasured, assess.NotJudged} {
		p.text(row, 1, shape, shapes[v])
		p.text(row, 2, plain, string(v))
		p.live(row, 3, figure, fmt.Sprintf(`COUNTIF(verdicts,%q)`, v), n[v], "0")
		row++
	}
	return row + 1
}

// attention lists what stands against signing: outside, too close to call, not
// measured, reservations; then what the wiring plan and the running check say.
func (b *book) attention(p *page, row int) (int, [2]int) {
	wiring := b.wiring.attention()
	said, suspect := b.ranking.words()
	if len(b.rep.Against) == 0 && len(wiring) == 0 && !suspect {
		return row, [2]int{}
	}
	row = b.heading(p, row, "To look at first")
	first, judged := row, false
	line := func(v assess.Verdict, name, words string) {
		p.text(row, 1, shape, shapes[v])
		p.text(row, 2, wrapped, name)
		p.fit(row, 2, 2, name, wrapped)
		p.text(row, 3, wrapped, words)
		p.span(row, 3, 6)
		p.fit(row, 3, 6, words, wrapped)
		row++
	}
	for _, m := range b.rep.Against {
		info, _ := m.Step.Info()
		switch f, ok := b.rep.Find(m.Key); {
		case m.Stand == assess.Reservation:
			line(verdictOf[m.Stand], info.Title+": "+m.Label, fmt.Sprintf("%s, under a reservation of %s, %s: %s", m.Was, m.Reserved.By, m.Reserved.At, m.Reserved.Text))
		case ok && m.Stand != assess.IsMissing:
			judged = true
			b.findingLine(p, row, f)
			row++
			p.text(row, 2, note, f.Next)
			p.span(row, 2, 6)
			p.fit(row, 2, 6, f.Next, note)
			row++
		default:
			words := string(m.Stand)
			if m.Why != "" {
				words += ": " + m.Why
			}
			line(verdictOf[m.Stand], info.Title+": "+m.Label, words)
		}
	}
	shade := [2]int{first, row - 1}
	if !judged {
		shade = [2]int{}
	}
	if suspect {
		line(assess.Outside, "Running check", said)
	}
	for _, words := range wiring {
		line(assess.Outside, "Wiring plan", words)
	}
	return row + 1, shade
}

// verdictOf lends a matter the shape of a verdict.
var verdictOf = map[assess.Stand]assess.Verdict{assess.IsOutside: assess.Outside, assess.IsClose: assess.TooClose,
	assess.IsMissing: assess.NotMeasured, assess.Reservation: assess.TooClose}

func (b *book) done(p *page, row int) int {
	row = b.heading(p, row, "What was done")
	for _, l := range []struct {
		name string
		key  record.Key
	}{{"Work done", record.WorkDone}, {"Left open", record.OpenConditions}, {"At another visit", record.FollowUp}, {"Due by", record.FollowUpDue}, {"Advice to the owner", record.OwnerAdvice}, {"New label on the unit", record.LabelDone},
		{"Cautions acknowledged, dead checks", record.AckDead}, {"Cautions acknowledged, live checks", record.AckLive}, {"Technician signs", record.SignedBy}, {"Date", record.SignedDate}} {
		t := b.job.Text(l.key)
		if t == "" {
			t = "not entered"
		}
		if s, ok := b.job.Signed(); ok && !s.Stands && l.key == record.SignedBy {
			t += ", and changed since: " + strings.Join(s.Since, ", ")
		}
		row = b.pair(p, row, l.name, t)
	}
	return row + 1
}

func (b *book) openWork(p *page, row int) int {
	var open []assess.State
	for _, s := range b.rep.Steps {
		if s.Word != assess.Done {
			open = append(open, s)
		}
	}
	if len(open) == 0 {
		return row
	}
	row = b.heading(p, row, "Steps that are not done, or done with reservations")
	for _, s := range open {
		info, _ := s.Step.Info()
		t := string(s.Word)
		if s.Why != "" {
			t += ": " + s.Why
		}
		row = b.pair(p, row, info.Title, t)
	}
	return row + 1
}

// signature is the block that is filled in by hand.
func (b *book) signature(p *page, row int) int {
	row = b.heading(p, row, "Supervisor signs here")
	words := "Fill in the four boxes and save; nothing else in this file needs changing. Date like 2026-08-14. Altered readings are told apart when the file is read back."
	p.text(row, 1, note, words)
	p.span(row, 1, 6)
	p.fit(row, 1, 6, words, note)
	row++
	for _, l := range []struct {
		name, label string
		k           lookKind
	}{{signName, "Name", fill}, {signDate, "Date", fillDate}, {signDecision, "Decision: accept or return", fill}, {signRemarks, "Remarks", fill}} {
		p.text(row, 1, label, l.label)
		p.span(row, 1, 2)
		num := ""
		if l.k == fillDate {
			num = "yyyy-mm-dd"
		}
		p.set(row, 3, cell{value: b.signed(l.name), look: look{l.k, num}, open: true})
		p.span(row, 3, 6)
		p.heights[row] = 26
		if l.name == signRemarks {
			p.heights[row] = 60
		}
		b.name(l.name, p, row, 3)
		row++
	}
	return row + 1
}

// signed is what a trial puts into the signature block; a date goes in as the
// day number that a spreadsheet program would store.
func (b *book) signed(name string) any {
	s := b.opts.Sign
	switch name {
	case signName:
		return text(s.Name)
	case signDecision:
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
func validate(f *excelize.File, sheet string, row int) error {
	at := func(i int) string { return ref(row+i, 3) }
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
	if err := decision.SetDropList(Decisions); err != nil {
		return err
	}
	decision.SetError(excelize.DataValidationErrorStyleStop, "Decision", "accept or return.")
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
