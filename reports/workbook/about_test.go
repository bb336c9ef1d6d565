package workbook

import (
	"bytes"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/version"

	"github.com/xuri/excelize/v2"
)

// About and the file's properties name the version that wrote the workbook,
// unless the caller named another program.
func TestAboutNamesTheVersion(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	for software, want := range map[string]string{"": version.String(), "Trial 7": "Trial 7"} {
		var b bytes.Buffer
		if err := Write(&b, assess.New(j), Options{Software: software}); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows("About")
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, r := range rows {
			for i, c := range r {
				if c == "Written by" && i+2 < len(r) {
					got = r[i+2] // two columns bear the name
				}
			}
		}
		props, err := f.GetDocProps()
		if err != nil {
			t.Fatal(err)
		}
		if got != want || props.Creator != want {
			t.Errorf("software %q: About says %q, the properties %q, want %q", software, got, props.Creator, want)
		}
	}
}
