package register

import (
	"bytes"
	"testing"

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
	rep, err := assess.Run(j)
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
		if err := workbook.Write(&b, j, rep, workbook.Options{Sign: c.sign}); err != nil {
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
