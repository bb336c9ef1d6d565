package workbook_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// A winding that reads open stands as open on the page of its step, not as 0 ohm,
// also in a program that shows cached values.
func TestOpenLineIsNotZero(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Set(record.Entry{Key: record.RCase, Value: record.OpenLine, Time: time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)}); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := workbook.Write(&b, assess.New(j), workbook.Options{Time: time.Date(2026, 8, 14, 13, 0, 0, 0, time.UTC), Sign: signature}); err != nil {
		t.Fatal(err)
	}
	if r, err := workbook.ReadBytes(b.Bytes()); err != nil || r.State != workbook.Signed {
		t.Errorf("read back: %s, %v, %v", r.State, r.Changes, err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	fl, err := record.ByKey(record.RCase)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows("Electrical")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if len(r) > 2 && r[1] == fl.Label {
			if r[2] != record.OpenLine {
				t.Errorf("%s reads %q", fl.Label, r[2])
			}
			return
		}
	}
	t.Errorf("%s is not on the page", fl.Label)
}
