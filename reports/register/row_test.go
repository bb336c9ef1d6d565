package register

import (
	"bytes"
	"strings"
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
	a := assess.New(j)
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
		if err := workbook.Write(&b, a, workbook.Options{Sign: c.sign}); err != nil {
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
// not come yet is no date; what presses most stands first.
func TestChase(t *testing.T) {
	day := time.Date(2026, 9, 1, 15, 0, 0, 0, time.UTC)
	signed := func(c Row) Row {
		c.State, c.Visit, c.SignedBy, c.Decision, c.Technician = workbook.Signed, "2026-08-14", "S-1", workbook.Accept, "T-1"
		if c.SignedOn == "" {
			c.SignedOn = "2026-08-20"
		}
		if c.Job == "" {
			c.Job = "job " + c.File
		}
		if c.Digest == "" {
			c.Digest = c.File
		}
		return c
	}
	returned := signed(Row{File: "c"})
	returned.Decision = workbook.Return
	conflict := signed(Row{File: "o", Job: "n", Digest: "n"})
	conflict.Decision = workbook.Return
	unsigned := func(c Row) Row {
		c = signed(c)
		c.State, c.SignedBy, c.SignedOn, c.Decision, c.Missing = workbook.AsExported, "", "", "", "supervisor's signature"
		return c
	}
	at := func(at string) Row { return Row{ExportedAt: at} }
	older, newer := unsigned(at("2026-08-14T10:00:00Z")), unsigned(at("2026-08-15T10:00:00Z"))
	older.File, older.Job, older.Digest, newer.File, newer.Job, newer.Digest = "p", "p", "p1", "q", "p", "p2"
	keyed := func(file string, count int, key, previous string) Row {
		r := signed(Row{File: file, Job: "r", Digest: file, Count: count, KeyID: key, Exported: "2026-08-14", Export: "export " + file, Previous: previous})
		return r
	}
	odd := keyed("u", 3, "other", "")
	odd.Job = "u"
	own := keyed("v", 2, "tablet", "")
	own.Job = "u"
	own.ExportedAt, odd.ExportedAt = "2026-08-14T10:00:00Z", "2026-08-16T10:00:00Z"
	reg := &Register{Today: day, Term: 14, Rows: []Row{
		{File: "a", State: workbook.Damaged, Reason: "torn"},
		{File: "b", State: workbook.Altered, Job: "job m", Digest: "m"},
		returned,
		signed(Row{File: "d", Job: "d", Digest: "1", NewCompressor: "x-1"}),
		unsigned(Row{File: "e", Job: "d", Digest: "1", NewCompressor: "X-1"}),
		signed(Row{File: "f", NewCompressor: "n 7"}),
		signed(Row{File: "g", OldCompressor: "o-1", NewCompressor: "N7"}),
		{File: "h", State: workbook.PartSigned, Visit: "2026-08-01", Job: "h", Missing: "in the signature block: date"},
		{File: "i", State: workbook.AsExported, Visit: "2026-08-01", Job: "i", Technician: "T-4", Missing: "supervisor's signature"},
		{File: "j", State: workbook.AsExported, Visit: "2026-08-25", Job: "j", Missing: "supervisor's signature"},
		signed(Row{File: "k", Missing: "vacuum held"}),
		signed(Row{File: "l", SignedOn: "2026-09-02"}),
		signed(Row{File: "m", SignedOn: "2026-09-01"}),
		signed(Row{File: "n", Job: "n", Digest: "n"}), conflict, older, newer,
		keyed("r", 1, "tablet", ""), keyed("s", 2, "tablet", "export r"), keyed("t", 3, "tablet", "gone"),
		odd, own,
		{File: "w", State: workbook.PartSigned, Job: "w", Copied: workbook.DecisionCode("m"), SignedBy: "S-1"},
	}}
	reg.relate()
	reg.chase(&Policy{Supervisors: []string{"S-1"}, Keys: []PolicyKey{{Key: "tablet"}}})
	want := map[string]struct {
		s    Standing
		act  string
		whom string
		fold bool
	}{
		"a": {ToAskAgain, "ask for it again", "", false}, "b": {ToSendBack, "altered after the export", "", false},
		"c": {ToReturn, "returned by the supervisor", "technician T-1, returned 2026-08-20", false},
		"d": {ToHold, "no tablet's key", "", false}, "e": {ToDrop, "keep d, which is signed", "", true},
		"f": {ToAsk, "a serial number stands in another job", "", false}, "g": {ToAsk, "a serial number", "", false},
		"h": {ToSign, "complete the signature", "S-1, visit 2026-08-01", false}, "i": {ToSign, "remind", "S-1, 17 days late, visit 2026-08-01", false},
		"j": {ToSign, "wait", "S-1, visit 2026-08-25", false}, "k": {ToComplete, "what is missing", "technician T-1", false}, "l": {ToComplete, "what is missing", "", false},
		"m": {ToHold, "no tablet's key", "", false},
		"n": {ToAsk, "accept and return of the same record", "", false}, "o": {ToAsk, "of the same record", "", false},
		"p": {IsSuperseded, "superseded by q, the later by the files' own times; no key vouches", "", true}, "q": {ToSign, "remind", "", false},
		"r": {IsSuperseded, "superseded by t, export 3 of the job and this is 1, by the same tablet's key", "", true}, "s": {IsSuperseded, "superseded by t", "", true},
		"t": {ToHold, "not rebuilt", "", false},
		"u": {ToAsk, "another record of the same job, not by a key of the office's, in v", "", false}, "v": {ToAsk, "not by a key of the office's, in u", "", false},
		"w": {ToAsk, "copied from another job, it seems that of m", "S-1", false},
	}
	last := ToReturn
	for i := range reg.Rows {
		r := &reg.Rows[i]
		w := want[r.File]
		if r.Standing != w.s || !strings.Contains(r.Act, w.act) || !strings.Contains(r.Whom, w.whom) || r.Folded != w.fold {
			t.Errorf("%s: %v, %q, %q, folded %v; want %v", r.File, r.Standing, r.Act, r.Whom, r.Folded, w)
		}
		if r.Standing < last {
			t.Errorf("%s (%v) stands behind %v", r.File, r.Standing, last)
		}
		last = r.Standing
		if r.File == "t" && r.History != "corrects s (accepted on 2026-08-20 by S-1); corrects r (accepted on 2026-08-20 by S-1)" {
			t.Errorf("history %q", r.History)
		}
	}
	if got := reg.Totals(); got != "19 rows of 23 workbooks: 1 to return, 1 altered, 1 not read, 7 to ask about, 4 to sign (3 late), 2 incomplete, 3 not to be filed. Told in the row of another file: 1 duplicate, 3 superseded." {
		t.Error(got)
	}
}

// A name that would read backwards is shown with a mark in its place.
func TestClean(t *testing.T) {
	if got := Clean("job\u202Exslx.exe\u2066"); got != "job\uFFFDxslx.exe\uFFFD" {
		t.Errorf("%q", got)
	}
	reg := &Register{Rows: []Row{{File: "a\u202Eb", Owner: "c\u2067d"}}}
	var b bytes.Buffer
	if err := reg.WriteCSV(&b); err != nil || strings.ContainsFunc(b.String(), turns) {
		t.Errorf("%q, %v", b.String(), err)
	}
}
