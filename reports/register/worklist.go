package register

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"retrostage/reports/workbook"

	"github.com/xuri/excelize/v2"
)

// clerkColumn is a column of the sheet that a clerk works down and prints: several
// things of a row that belong together.
type clerkColumn struct {
	head  string
	width float64
	get   func(*Row, time.Time) []string // lines
}

// clerkColumns are together as wide as a landscape page takes.
var clerkColumns = []clerkColumn{
	{"Standing", 10, func(r *Row, _ time.Time) []string { return []string{r.Standing.String()} }},
	{"What to do", 18, func(r *Row, _ time.Time) []string { return []string{r.Act} }},
	{"Whom, since when", 14, func(r *Row, _ time.Time) []string { return []string{r.Whom} }},
	{"Job, visit, technician", 15, func(r *Row, _ time.Time) []string { return []string{r.owner(), r.Visit, r.Technician} }},
	{"What is missing or why", 24, func(r *Row, _ time.Time) []string {
		return []string{r.Reason, r.stillLacks(), r.Altered(), r.Duplicate, prefixed("remarks: ", r.Remarks), prefixed("outside: ", few(r.Open, 2)), prefixed("not done: ", r.Undone)}
	}},
	{"Warranty: unit; new part, supplier, invoice, date; labour", 18, func(r *Row, _ time.Time) []string {
		return []string{prefixed("unit: ", r.Warranty), prefixed("part: ", r.Part), prefixed("labour: ", r.Labour)}
	}},
	{"Failed part", 9, func(r *Row, _ time.Time) []string { return []string{r.FailedPart} }},
	{"Refrigerant recovered, where to; charge", 14, func(r *Row, _ time.Time) []string {
		return []string{prefixed("out: ", r.Recovered), prefixed("in: ", r.Charge)}
	}},
	{"Signature", 13, func(r *Row, _ time.Time) []string { return []string{r.SignedBy, r.SignedOn, r.Decision, r.signedHow()} }},
	{"Left open, follow-up", 14, func(r *Row, today time.Time) []string { return []string{r.Left, r.followed(today)} }},
	{"File, other files of the job", 20, func(r *Row, _ time.Time) []string { return []string{r.File, r.History} }},
}

// few are the first of a list, and how many more there are.
func few(list string, n int) string {
	all := strings.Split(list, "; ")
	if len(all) <= n {
		return list
	}
	return fmt.Sprintf("%s and %d more", strings.Join(all[:n], "; "), len(all)-n)
}

// stillLacks is what a file lacks beside what its standing says already.
func (row *Row) stillLacks() string {
	if row.Standing == ToReturn || row.Standing == ToSign {
		return strings.Join(slices.DeleteFunc(strings.Split(row.lacks(), "; "), func(s string) bool {
			return strings.HasPrefix(s, "acceptance:") || s == "supervisor's signature"
		}), "; ")
	}
	return row.lacks()
}

func prefixed(p, s string) string {
	if s == "" {
		return ""
	}
	return p + s
}

func (row *Row) owner() string {
	if row.Demo {
		return row.Owner + " (demo)"
	}
	return row.Owner
}

// followed is the follow-up that was promised, and whether its day is past.
func (row *Row) followed(today time.Time) string {
	if row.FollowUp == "" && row.FollowDue == "" {
		return ""
	}
	s := "follow-up"
	if row.FollowUp != row.Left {
		s += ": " + row.FollowUp
	}
	switch {
	case row.FollowDue == "":
		return s
	case row.FollowDue < today.Format(time.DateOnly):
		return s + ", OVERDUE since " + row.FollowDue
	}
	return s + ", due " + row.FollowDue
}

// clerkSheet is what a clerk works down: totals, then a row for each job in the order
// of what to chase.
func (reg *Register) clerkSheet(o *out) {
	var widths []float64
	var heads []any
	for _, c := range clerkColumns {
		widths, heads = append(widths, c.width), append(heads, c.head)
	}
	s := o.sheet("Register", true, widths...)
	if o.err != nil {
		return
	}
	n := len(clerkColumns)
	const top = 6 // the row of the headings
	s.row = top
	s.freeze() // before the first row is streamed
	s.row = 1
	s.across(o.l.title, n, 24, "Register of conversions")
	s.across(o.l.note, n, 15, reg.headline())
	s.across(o.l.wrap, n, 15, reg.Totals())
	if c := reg.otherWords(); c != "" {
		s.across(o.l.note, n, 26, c)
	} else {
		s.blank(6)
	}
	s.row = top
	s.high = 38
	s.put(o.l.head, heads...)
	styles, line := make([]int, n), make([]string, n)
	chased := 0 // the last row of what is to be chased
	for k := range reg.Rows {
		r := &reg.Rows[k]
		if r.Folded {
			continue
		}
		lines := 1
		for i, c := range clerkColumns {
			parts := slices.DeleteFunc(c.get(r, reg.Today), func(p string) bool { return strings.TrimSpace(p) == "" })
			count := 0
			for j, p := range parts {
				if len([]rune(p)) > 180 {
					parts[j] = string([]rune(p)[:180]) + "… (All columns)"
				}
				count += 1 + int(float64(len([]rune(parts[j])))/(1.2*c.width))
			}
			lines = max(lines, count)
			line[i], styles[i] = strings.Join(parts, "\n"), o.l.wrap
		}
		styles[0] = o.l.standing[r.Standing]
		if r.Standing != IsComplete {
			chased = s.row
		}
		s.high = 12*float64(min(lines, 33)) + 3
		s.painted(styles, line)
	}
	if o.err != nil {
		return
	}
	last, err := excelize.CoordinatesToCellName(n, max(top+1, s.row-1))
	o.try(err)
	o.try(o.f.AutoFilter(s.name, fmt.Sprintf("A%d:%s", top, last), nil))
	if chased > 0 && chased < s.row-1 { // what is complete asks for nobody's pencil
		end, err := excelize.CoordinatesToCellName(n, chased, true)
		o.try(err)
		o.try(o.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", Scope: s.name, RefersTo: fmt.Sprintf("'%s'!$A$1:%s", s.name, end)}))
	}
	s.flush()
}

// Totals counts the jobs by their standing, those that press first.
func (reg *Register) Totals() string {
	count, folded := make([]int, len(standings)), make([]int, len(standings))
	jobs, late := 0, 0
	for i := range reg.Rows {
		r := &reg.Rows[i]
		if r.Folded {
			folded[r.Standing]++
			continue
		}
		count[r.Standing]++
		jobs++
		if r.Standing == ToSign && r.Overdue > 0 {
			late++
		}
	}
	var out, told []string
	for s, n := range folded {
		if n > 0 {
			told = append(told, fmt.Sprintf("%d %s", n, standings[s]))
		}
	}
	for s, n := range count {
		if n > 0 {
			w := fmt.Sprintf("%d %s", n, standings[s])
			if Standing(s) == ToSign && late > 0 {
				w += fmt.Sprintf(" (%d late)", late)
			}
			out = append(out, w)
		}
	}
	words := fmt.Sprintf("%d rows of %d workbooks: %s.", jobs, len(reg.Rows), strings.Join(out, ", "))
	if told != nil {
		words += " Told in the row of another file: " + strings.Join(told, ", ") + "."
	}
	return words
}

// otherWords counts what lies in the folder and is no workbook, by reason.
func (reg *Register) otherWords() string {
	n := map[string]int{}
	var order []string
	for _, o := range reg.Other {
		if n[o.Reason]++; n[o.Reason] == 1 {
			order = append(order, o.Reason)
		}
	}
	var out []string
	for _, r := range order {
		out = append(out, fmt.Sprintf("%d: %s", n[r], r))
	}
	if out == nil {
		return ""
	}
	return "Also in the folder, not read: " + strings.Join(out, ". ") + ". The sheet Every file names them."
}

// everySheet lists every file of the folder and what became of it.
func (reg *Register) everySheet(o *out) {
	s := o.sheet("Every file", true, 56, 24, 90)
	s.across(o.l.title, 3, 24, "Every file in the folder")
	s.across(o.l.note, 3, 15, fmt.Sprintf("%d workbooks and %d other files.", len(reg.Rows), len(reg.Other)))
	s.row++
	s.heads("File", "Read as", "What became of it")
	for i := range reg.Rows {
		r := &reg.Rows[i]
		why := r.Act
		if r.State == workbook.Damaged {
			why = r.Reason
		}
		s.put(o.l.wrap, r.File, string(r.State), r.Standing.String()+": "+why)
	}
	for _, x := range reg.Other {
		s.put(o.l.wrap, x.File, "not read", x.Reason)
	}
	s.flush()
}
