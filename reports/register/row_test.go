package register

import (
	"bytes"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/workbook"
)

// What the signature block says decides whether a file can go to the warranty.
func TestMissing(t *testing.T) {
	j, _, err := demo.Job(5, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		sign workbook.Signature
		want string
	}{
		{workbook.Signature{}, "supervisor's signature"},
		{workbook.Signature{Name: "S-1", Date: "2099-01-01", Decision: workbook.Accept}, ""},
		{workbook.Signature{Name: "S-1", Date: "2099-01-01", Decision: workbook.Return, Remarks: "no photograph"}, "acceptance: the supervisor returned it"},
		{workbook.Signature{Name: "S-1", Date: "2001-01-01", Decision: workbook.Accept}, "a signature dated after the visit"},
		{workbook.Signature{Name: "S-1", Date: "soon", Decision: workbook.Accept}, "in the signature block: date"},
	} {
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{Sign: c.sign}); err != nil {
			t.Fatal(err)
		}
		var row Row
		row.fill(workbook.ReadBytes(b.Bytes()))
		if row.Missing != c.want {
			t.Errorf("%+v: missing %q, want %q", c.sign, row.Missing, c.want)
		}
		if done := row.complete() == "yes"; done != (c.want == "") {
			t.Errorf("%+v: complete %q", c.sign, row.complete())
		}
	}
}

// What the clerk does follows from all that is known of a file; a date that has
// not come yet is no date.
func TestToDo(t *testing.T) {
	day := time.Date(2026, 9, 1, 15, 0, 0, 0, time.UTC)
	signed := func(c Row) Row {
		c.State, c.Visit, c.SignedBy, c.Decision = workbook.Signed, "2026-08-14", "S-1", workbook.Accept
		if c.SignedOn == "" {
			c.SignedOn = "2026-08-20"
		}
		return c
	}
	returned := signed(Row{})
	returned.Decision = workbook.Return
	reg := &Register{Today: day, Term: 14, Rows: []Row{
		{File: "a", State: workbook.Damaged, Reason: "torn"},
		{File: "b", State: workbook.Altered},
		returned,
		signed(Row{File: "d", Digest: "1", NewCompressor: "x-1"}),
		signed(Row{File: "e", Digest: "1", NewCompressor: "X-1"}),
		signed(Row{File: "f", NewCompressor: "n 7"}),
		signed(Row{File: "g", OldCompressor: "o-1", NewCompressor: "N7"}),
		{File: "h", State: workbook.PartSigned, Visit: "2026-08-01", Missing: "in the signature block: date"},
		{File: "i", State: workbook.AsExported, Visit: "2026-08-01", Missing: "supervisor's signature"},
		{File: "j", State: workbook.AsExported, Visit: "2026-08-25", Missing: "supervisor's signature"},
		signed(Row{File: "k", Missing: "vacuum held"}),
		signed(Row{File: "l", SignedOn: "2026-09-02"}),
		signed(Row{File: "m", SignedOn: "2026-09-01"}),
	}}
	reg.relate()
	want := []string{"ask for it again", "send back: altered after the export", "send back to the technician: returned by the supervisor",
		"keep one: sent twice", "keep one: sent twice", "ask: a serial number stands in another job", "ask: a serial number stands in another job",
		"ask the supervisor to complete the signature", "remind the supervisor", "wait for the signature", "ask for what is missing",
		"ask for what is missing", "file it"}
	for i := range reg.Rows {
		r := &reg.Rows[i]
		if got := r.todo(); got != want[i] {
			t.Errorf("%s: to do %q, want %q (duplicate %q, lacks %q)", r.File, got, want[i], r.Duplicate, r.lacks())
		}
		if want := map[string]bool{"m": true, "d": true, "e": true, "f": true, "g": true, "": true}; (r.complete() == "yes") != want[r.File] {
			t.Errorf("%q: complete %q", r.File, r.complete())
		}
	}
	if got := reg.Rows[11].lacks(); got != "a true date of the signature (2026-09-02 has not come yet)" {
		t.Error(got)
	}
}
