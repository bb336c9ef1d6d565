package workbook_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
	"retrostage/thermo/units"
)

// cellsPy prints every cell of the workbooks named, one a line: file, sheet,
// cell, value, formula.
const cellsPy = `
import datetime, json, sys, openpyxl
for path in sys.argv[1:]:
    values, formulas = openpyxl.load_workbook(path, data_only=True), openpyxl.load_workbook(path)
    for ws in formulas:
        for row in ws.iter_rows():
            for c in row:
                v = values[ws.title][c.coordinate].value
                if isinstance(v, datetime.datetime):
                    v = (v - datetime.datetime(1899, 12, 30)).days
                f = c.value if c.data_type == "f" else ""
                if v is not None or f:
                    print(json.dumps([path, ws.title, c.coordinate, v, f]))
`

// openpyxl, an independent reader, finds in every cell of every sheet what this
// program's reader finds there: value and formula, and no cell more or less.
func TestOpenpyxlAgrees(t *testing.T) {
	t.Parallel()
	python := "/usr/bin/python3"
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		t.Skip("openpyxl is not installed: the workbooks were not read by it")
	}
	jobs := soak.Count(2, 4) // one in each system of units
	dir := t.TempDir()
	type place struct{ path, sheet, cell string }
	ours := map[place]sheetfile.Cell{}
	args := []string{"-c", cellsPy}
	for i := range jobs {
		b := make1(t, 41, i, workbook.Options{System: units.System(i % 2), Sign: signature, Key: tabletKey()})
		path := filepath.Join(dir, strconv.Itoa(i)+".xlsx")
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
		f, err := sheetfile.Open(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Fatal(err)
		}
		for _, sh := range f.Sheets {
			if err := f.Cells(sh, func(c sheetfile.Cell) error {
				if c.IsNumber || c.Text != "" || c.IsFormula {
					ours[place{path, sh.Name, sheetfile.Name(c.Row, c.Col)}] = c
				}
				return nil
			}); err != nil {
				t.Fatal(err)
			}
		}
	}
	out, err := exec.Command(python, args...).Output()
	if err != nil {
		t.Fatal(err)
	}
	n, all := 0, len(ours)
	s := bufio.NewScanner(bytes.NewReader(out))
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var v [5]any
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		at := place{v[0].(string), v[1].(string), v[2].(string)}
		c, there := ours[at]
		delete(ours, at)
		n++
		same := there && strings.TrimPrefix(v[4].(string), "=") == c.Formula
		switch x := v[3].(type) {
		case float64:
			same = same && c.IsNumber && math.Abs(x-c.Number) <= 1e-15*math.Abs(x)
		case string:
			same = same && !c.IsNumber && c.Text == x
		case nil:
			same = same && !c.IsNumber && c.Text == ""
		default:
			same = false
		}
		if !same {
			t.Errorf("%s %s!%s: openpyxl finds %v %v, we %+v", filepath.Base(at.path), at.sheet, at.cell, v[3], v[4], c)
		}
	}
	for at, c := range ours {
		t.Errorf("%s %s!%s: openpyxl finds nothing, we %+v", filepath.Base(at.path), at.sheet, at.cell, c)
	}
	t.Logf("%d cells in %d workbooks, %d by this reader", n, jobs, all)
	if n < 3000*jobs {
		t.Errorf("only %d cells", n)
	}
}
