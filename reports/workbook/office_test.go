package workbook_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
	"retrostage/thermo/units"
)

// signature is what trials sign with.
var signature = workbook.Signature{Name: "S. Pervisor", Date: "2026-09-01", Decision: "accept", Remarks: "=seen & checked"}

func init() { memo.Most = 60 } // the same jobs are written by one test after the other

// make1 writes the workbook of one invented job.
func make1(t testing.TB, seed uint64, i int, o workbook.Options) []byte {
	t.Helper()
	j, _, err := demo.Job(seed, i)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := workbook.Write(&b, assess.New(j), o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// rewrite passes every part of a workbook through fn; a nil result drops it.
func rewrite(t testing.TB, b []byte, fn func(name string, data []byte) []byte) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		r.Close()
		if err != nil {
			t.Fatal(err)
		}
		if data = fn(f.Name, data); data == nil {
			continue
		}
		o, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		o.Write(data)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// complete is the demo with whatever else a sheet has a formula for; with fixed
// its metering device is an orifice.
func complete(t testing.TB, fixed bool) *record.Job {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	metering, length := record.MeterTXV, "40"
	if fixed { // and its charge by the plate alone
		metering, length = record.MeterFixed, ""
	}
	for _, e := range []struct {
		key         record.Key
		value, unit string
	}{
		{record.Metering, metering, ""}, {record.TagSuperheat, "", ""}, {record.NewBCSC, "20.5", "A"}, {record.DrierVolume, "12", "in3"}, {record.Trimmed, "-3", "oz"},
		{record.Pin12, "3", "ohm"}, {record.Pin23, "0.6", "ohm"}, {record.Pin13, "2.4", "ohm"}, {record.InsulationVolts, "500", "V"},
		{record.CoilOhms, "14", "ohm"}, {record.CoilVA, "9", "VA"}, {record.SolenoidOhms, "20", "ohm"}, {record.SolenoidVA, "8", "VA"},
		{record.HeaterOhms, "820", "ohm"}, {record.HeaterWatts, "70", "W"}, {record.HeaterVolts, "240", "V"},
		{record.FanCapRating, "5", "uF"}, {record.CapFanMeter, "4.9", "uF"}, {record.CapOuter, "4.4", "uF"},
		{record.SupplySystem, record.SystemSplit, ""}, {record.SupplyV12, "229", "V"}, {record.SupplyV23, "233", "V"}, {record.SupplyV13, "228", "V"},
		{record.InrushCurrent, "80", "A"}, {record.TransformerVA, "40", "VA"}, {record.SettleTime, "20", "min"}, {record.CauseInrush, "95", "A"}, {record.LineLength, length, "ft"},
	} {
		if err := j.Set(record.Entry{Key: e.key, Value: e.value, Unit: e.unit, Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
	}
	return j
}

var cached = regexp.MustCompile(`(</f>)<v>[^<]*</v>`)

// forget removes the value that stands beside each formula, so that a value
// found later was calculated by somebody else.
func forget(t testing.TB, b []byte) []byte {
	return rewrite(t, b, func(name string, data []byte) []byte {
		if strings.HasPrefix(name, "xl/worksheets/sheet") {
			return cached.ReplaceAll(data, []byte("$1"))
		}
		return data
	})
}

// office converts files with LibreOffice in a profile of its own that always
// recalculates, and returns the folder with the results.
func office(t testing.TB, dir, format string, files ...string) string {
	t.Helper()
	soffice, err := exec.LookPath("soffice")
	if err != nil {
		t.Skip("LibreOffice is not installed: the workbooks were not recalculated by it")
	}
	profile, out := filepath.Join(dir, "profile"), filepath.Join(dir, "out-"+format)
	if err := os.MkdirAll(filepath.Join(profile, "user"), 0o755); err != nil {
		t.Fatal(err)
	}
	always := `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>`
	if err := os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(always), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(soffice, append([]string{"-env:UserInstallation=file://" + profile, "--headless", "--convert-to", format, "--outdir", out}, files...)...)
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("LibreOffice: %v\n%s", err, b)
	}
	return out
}

// wantSheets is how many findings had a formula when this was written: fewer would
// be some that the jobs below no longer try.
const wantSheets = 53

// LibreOffice, which knows nothing of this program, recalculates the workbooks
// of invented jobs from formulas whose values were removed, and saves them.
// Every derived cell equals the program's finding; the signature comes back,
// and so does "signed, untouched". Jobs alternate between the unit systems; in
// a soak there are 50, each written in both. What holds everything is tried with a fixed
// bore in one system and a valve in the other, in a soak both in both.
func TestLibreOfficeAgrees(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("another program is slow, and shares no memory with this one")
	}
	jobs := soak.Count(3, 50)
	dir := t.TempDir()
	var files []string
	for i := range jobs {
		for _, sys := range []units.System{units.IP, units.SI} {
			if !soak.On() && int(sys) != i%2 {
				continue
			}
			b := forget(t, make1(t, 2026, i, workbook.Options{System: sys, Paper: workbook.Paper(sys), Sign: signature}))
			path := filepath.Join(dir, fmt.Sprintf("job-%02d-%s.xlsx", i, sys))
			if err := os.WriteFile(path, b, 0o644); err != nil {
				t.Fatal(err)
			}
			files = append(files, path)
		}
	}
	sheets := map[string]bool{} // findings with a formula, in the jobs that hold everything
	for i, sys := range []units.System{units.IP, units.SI, units.IP, units.SI} {
		a := assess.New(complete(t, i < 2))
		rep, err := a.Report()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range rep.Findings {
			if f.Sheet != "" {
				sheets[f.Key] = true
			}
		}
		if !soak.On() && i%3 != 0 { // a fixed bore in one system, a valve in the other
			continue
		}
		var b bytes.Buffer
		if err := workbook.Write(&b, a, workbook.Options{System: sys, Sign: signature}); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, fmt.Sprintf("complete-%d.xlsx", i))
		if err := os.WriteFile(path, forget(t, b.Bytes()), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, path)
	}
	if len(sheets) < wantSheets {
		t.Errorf("only %d findings with a formula are recalculated", len(sheets))
	}
	out := office(t, dir, "xlsx", files...)
	n, worst := 0, 0.0
	for _, path := range files {
		name := filepath.Base(path)
		b, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		f, err := sheetfile.Open(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		err = workbook.Derived(f, func(sheet, cell string, want float64, got sheetfile.Cell) {
			n++
			d := math.Abs(got.Number-want) / math.Max(1, math.Abs(want))
			worst = math.Max(worst, d)
			if !got.IsNumber || !got.IsFormula || d > 1e-5 {
				t.Errorf("%s %s!%s: LibreOffice finds %v %q, the program %v", name, sheet, cell, got.Number, got.Text, want)
			}
		})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		r, err := workbook.ReadBytes(b)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if r.State != workbook.Signed || r.Signature != signature {
			t.Errorf("%s: %s, signature %+v, changes %v", name, r.State, r.Signature, r.Changes)
		}
	}
	t.Logf("%d derived cells in %d workbooks, largest relative difference %.2g", n, len(files), worst)
	if n < 100*len(files) {
		t.Errorf("only %d derived cells", n)
	}
}
