package register

import (
	"encoding/csv"
	"fmt"
	"io"
	"sort"
	"strconv"

	"retrostage/reports/workbook"

	"github.com/go-gota/gota/dataframe"
	"github.com/go-gota/gota/series"
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
	return column{name, head, width, false, get}
}

func count(name, head string, get func(*Row) int) column {
	return column{name, head, 9, true, func(r *Row) string { return strconv.Itoa(get(r)) }}
}

// columns is the table, once, for frame, CSV and workbook.
var columns = []column{
	text("file", "File", 54, func(r *Row) string { return r.File }),
	text("state", "State", 24, func(r *Row) string { return string(r.State) }),
	text("todo", "To do", 28, func(r *Row) string { return r.todo() }),
	text("complete", "Complete", 10, func(r *Row) string { return r.complete() }),
	text("missing", "Missing", 40, func(r *Row) string { return r.lacks() }),
	text("altered", "Altered cells", 40, func(r *Row) string { return r.Altered() }),
	text("duplicate", "Sent twice", 34, func(r *Row) string { return r.Duplicate }),
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
	case row.lacks() != "":
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

// Frame is the register as a gota frame, one row per file.
func (reg *Register) Frame() dataframe.DataFrame {
	ss := make([]series.Series, len(columns))
	for i, c := range columns {
		v := make([]string, len(reg.Rows))
		for k := range reg.Rows {
			v[k] = c.get(&reg.Rows[k])
		}
		kind := series.String
		if c.number {
			kind = series.Int
		}
		ss[i] = series.New(v, kind, c.name)
	}
	return dataframe.New(ss...)
}

// Group is one line of a summary.
type Group struct {
	Name                                      string
	Files, Complete, Signed, Altered, NotRead int
	Overdue, Duplicate, WithOutside, Outsides int
}

// Summary counts the rows of a frame by a column, in the order of its values.
func Summary(df dataframe.DataFrame, by string) []Group {
	names := df.Col(by).Records()
	state, complete := df.Col("state").Records(), df.Col("complete").Records()
	overdue, duplicate, outside := ints(df, "overdue"), df.Col("duplicate").Records(), ints(df, "outside")
	at := map[string]*Group{}
	for i, n := range names {
		if n == "" {
			n = "not entered"
		}
		g := at[n]
		if g == nil {
			g = &Group{Name: n}
			at[n] = g
		}
		add := func(to *int, yes bool) {
			if yes {
				*to++
			}
		}
		g.Files++
		add(&g.Complete, complete[i] == "yes")
		add(&g.Signed, state[i] == string(workbook.Signed))
		add(&g.Altered, state[i] == string(workbook.Altered))
		add(&g.NotRead, state[i] == string(workbook.Damaged))
		add(&g.Overdue, overdue[i] > 0)
		add(&g.Duplicate, duplicate[i] != "")
		add(&g.WithOutside, outside[i] > 0)
		g.Outsides += outside[i]
	}
	out := make([]Group, 0, len(at))
	for _, g := range at {
		out = append(out, *g)
	}
	sort.Slice(out, func(i, k int) bool { return out[i].Name < out[k].Name })
	return out
}

func ints(df dataframe.DataFrame, name string) []int {
	v, err := df.Col(name).Int()
	if err != nil {
		return make([]int, df.Nrow())
	}
	return v
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
