package register

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/workbook"
)

// column is one column of the table.
type column struct {
	name, head string
	width      float64
	number     bool
	get        func(*Row) string
}

// lines is how many lines a value takes in its column.
func (c column) lines(v string) int { return 1 + int(float64(len([]rune(v)))/(1.3*c.width)) }

func text(name, head string, width float64, get func(*Row) string) column {
	return column{name, head, width, false, func(r *Row) string { return Clean(get(r)) }}
}

func count(name, head string, get func(*Row) int) column {
	return column{name, head, 9, true, func(r *Row) string { return strconv.Itoa(get(r)) }}
}

// columns is the table, once, for frame, CSV and workbook.
var columns = []column{
	text("standing", "Standing", 18, func(r *Row) string { return r.Standing.String() }),
	text("file", "File", 54, func(r *Row) string { return r.File }),
	text("state", "State", 24, func(r *Row) string { return string(r.State) }),
	text("todo", "To do", 28, func(r *Row) string { return r.Act }),
	text("whom", "Whom, since when", 30, func(r *Row) string { return r.Whom }),
	text("history", "Other files of the job", 40, func(r *Row) string { return r.History }),
	text("complete", "Complete", 10, func(r *Row) string { return r.complete() }),
	text("missing", "Missing", 40, func(r *Row) string { return r.lacks() }),
	text("altered", "Altered cells", 40, func(r *Row) string { return r.Altered() }),
	text("duplicate", "In two jobs", 34, func(r *Row) string { return r.Duplicate }),
	count("overdue", "Days overdue", func(r *Row) int { return r.Overdue }),
	text("reason", "Not read because", 36, func(r *Row) string { return r.Reason }),
	text("job", "Job", 20, func(r *Row) string { return r.Job }),
	text("demo", "Demo", 7, func(r *Row) string { return map[bool]string{true: "demo"}[r.Demo] }),
	text("owner", "Owner reference", 20, func(r *Row) string { return r.Owner }),
	text("visit", "Visit", 11, func(r *Row) string { return r.Visit }),
	text("month", "Month", 9, func(r *Row) string { return r.month() }),
	text("technician", "Technician", 12, func(r *Row) string { return r.Technician }),
	text("refrigerant", "Refrigerant", 12, func(r *Row) string { return r.Refrigerant }),
	text("failure", "Failure", 22, func(r *Row) string { return r.Failure }),
	text("unit_serial", "Unit serial", 18, func(r *Row) string { return r.UnitSerial }),
	text("old_compressor", "Failed compressor", 18, func(r *Row) string { return r.OldCompressor }),
	text("new_compressor", "New compressor", 18, func(r *Row) string { return r.NewCompressor }),
	count("within", "Within", func(r *Row) int { return r.Within }),
	count("outside", "Outside", func(r *Row) int { return r.Outside }),
	count("too_close", "Too close", func(r *Row) int { return r.TooClose }),
	count("unjudged", "Unjudged", func(r *Row) int { return r.Unjudged }),
	text("open", "What is outside", 34, func(r *Row) string { return r.Open }),
	text("signed_by", "Signed by", 20, func(r *Row) string { return r.SignedBy }),
	text("signed_on", "Signed on", 11, func(r *Row) string { return r.SignedOn }),
	text("signed_how", "Signature", 16, func(r *Row) string { return r.signedHow() }),
	text("decision", "Decision", 10, func(r *Row) string { return r.Decision }),
	text("remarks", "Remarks", 34, func(r *Row) string { return r.Remarks }),
	text("warranty", "Unit's warranty", 14, func(r *Row) string { return r.Warranty }),
	text("part", "New compressor: warranty, supplier, invoice, date", 34, func(r *Row) string { return r.Part }),
	text("failed_part", "Failed part", 18, func(r *Row) string { return r.FailedPart }),
	text("labour", "Labour warranty", 14, func(r *Row) string { return r.Labour }),
	text("recovered", "Refrigerant recovered, where to", 24, func(r *Row) string { return r.Recovered }),
	text("charge", "Charge", 24, func(r *Row) string { return r.Charge }),
	count("photos", "Photos", func(r *Row) int { return r.Photos }),
	text("left", "Left open", 30, func(r *Row) string { return r.Left }),
	text("follow_up", "Follow-up", 24, func(r *Row) string { return r.FollowUp }),
	text("follow_due", "Follow-up due", 11, func(r *Row) string { return r.FollowDue }),
	text("key", "Key", 24, func(r *Row) string { return r.Key }),
	text("check", "Held against", 30, func(r *Row) string { return r.Check }),
	text("redrawn", "Left out by another program", 30, func(r *Row) string { return r.Redrawn }),
	text("digest", "SHA-256 of the record", 66, func(r *Row) string { return r.Digest }),
}

// complete says in a word whether a file can go to the warranty as it is.
func (row *Row) complete() string {
	switch {
	case row.State == workbook.Damaged:
		return "not read"
	case row.State == workbook.Altered:
		return "altered"
	case row.Folded:
		return row.Standing.String()
	case row.Standing == ToAsk || row.Standing == ToHold || row.lacks() != "":
		return "no"
	}
	return "yes"
}

func (row *Row) month() string {
	if len(row.Visit) >= 7 {
		return row.Visit[:7]
	}
	return ""
}

// Group is one line of a summary. Files that are told in the row of another do not
// count.
type Group struct {
	Name                                      string
	Files, Complete, Signed, Altered, NotRead int
	Overdue, Duplicate, WithOutside, Outsides int
}

// Summary counts the rows by a column, in the order of its values.
func (reg *Register) Summary(by string) []Group {
	var get func(*Row) string
	for _, c := range columns {
		if c.name == by {
			get = c.get
		}
	}
	at := map[string]*Group{}
	add := func(to *int, yes bool) {
		if yes {
			*to++
		}
	}
	for i := range reg.Rows {
		r := &reg.Rows[i]
		if r.Folded {
			continue
		}
		n := get(r)
		if n == "" {
			n = "not entered"
		}
		g := at[n]
		if g == nil {
			g = &Group{Name: n}
			at[n] = g
		}
		g.Files++
		add(&g.Complete, r.complete() == "yes")
		add(&g.Signed, r.State == workbook.Signed)
		add(&g.Altered, r.State == workbook.Altered)
		add(&g.NotRead, r.State == workbook.Damaged)
		add(&g.Overdue, r.Overdue > 0)
		add(&g.Duplicate, r.Duplicate != "")
		add(&g.WithOutside, r.Outside > 0)
		g.Outsides += r.Outside
	}
	out := make([]Group, 0, len(at))
	for _, g := range at {
		out = append(out, *g)
	}
	slices.SortFunc(out, func(a, b Group) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// WriteCSV writes the table after RFC 4180: a header line, comma separated,
// CRLF line ends, UTF-8. Text that a spreadsheet program would take for a
// formula is guarded (workbook.Guard).
func (reg *Register) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	line := make([]string, len(columns))
	for i, col := range columns {
		line[i] = col.name
	}
	if err := c.Write(line); err != nil {
		return err
	}
	for k := range reg.Rows {
		for i, col := range columns {
			line[i] = col.get(&reg.Rows[k])
			if !col.number {
				line[i] = workbook.Guard(line[i])
			}
		}
		if err := c.Write(line); err != nil {
			return fmt.Errorf("%s: %w", reg.Rows[k].File, err)
		}
	}
	c.Flush()
	return c.Error()
}
