package workbook_test

import (
	"archive/zip"
	"bytes"
	"crypto/ed25519"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

var day = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

func tabletKey() ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed([]byte("an invented seed for the tests..")) // 32 bytes
}

// edit changes cells with a general spreadsheet library, which stands in for a
// person at a spreadsheet program, and returns the saved file.
func edit(t *testing.T, b []byte, fn func(f *excelize.File) error) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := fn(f); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// at is the cell that a defined name stands for.
func at(t *testing.T, f *excelize.File, name string) (sheet, cell string) {
	t.Helper()
	for _, d := range f.GetDefinedName() {
		if d.Name == name {
			sheet, cell, _ = strings.Cut(strings.NewReplacer("'", "", "$", "").Replace(d.RefersTo), "!")
			return sheet, cell
		}
	}
	t.Fatalf("no cell is named %s", name)
	return
}

func set(t *testing.T, f *excelize.File, name string, v any) {
	t.Helper()
	sheet, cell := at(t, f, name)
	if err := f.SetCellValue(sheet, cell, v); err != nil {
		t.Fatal(err)
	}
}

// tooClose names a verdict cell that says "too close to call".
func tooClose(t *testing.T, b []byte) (name string) {
	t.Helper()
	edit(t, b, func(f *excelize.File) error {
		for _, d := range f.GetDefinedName() {
			if !strings.HasSuffix(d.Name, "_verdict") {
				continue
			}
			sheet, cell := at(t, f, d.Name)
			if v, err := f.GetCellValue(sheet, cell); err == nil && v == "too close to call" {
				name = d.Name
			}
		}
		return nil
	})
	if name == "" {
		t.Fatal("no verdict of the job is too close to call")
	}
	return name
}

// The four states, told apart after somebody else's program saved the file.
func TestStates(t *testing.T) {
	t.Parallel()
	plain := make1(t, 1, 1, workbook.Options{})
	sealed, err := workbook.ReadBytes(plain)
	if err != nil {
		t.Fatal(err)
	}
	sign := func(f *excelize.File) error {
		set(t, f, "sign_name", "S. Pervisor")
		set(t, f, "sign_date", 46266) // 2026-09-01
		set(t, f, "sign_decision", "accept "+workbook.DecisionCode(sealed.Digest))
		return nil
	}
	typed := func(f *excelize.File, field string) (string, string) {
		sheet, cell := at(t, f, field)
		return sheet, "C" + strings.TrimLeft(cell, "ABCDEFGHIJ") // the number as entered stands in column C
	}
	doubtful := tooClose(t, plain)
	for _, c := range []struct {
		name string
		file []byte
		want workbook.State
		seen string // in the text of the changes or of the error
	}{
		{"as written", plain, workbook.AsExported, ""},
		{"saved elsewhere", edit(t, plain, func(*excelize.File) error { return nil }), workbook.AsExported, ""},
		{"signed", edit(t, plain, sign), workbook.Signed, ""},
		{"name only", edit(t, plain, func(f *excelize.File) error { set(t, f, "sign_name", "S. Pervisor"); return nil }), workbook.PartSigned, ""},
		{"date in words", edit(t, plain, func(f *excelize.File) error {
			sign(f)
			set(t, f, "sign_date", "yesterday")
			return nil
		}), workbook.PartSigned, ""},
		{"reading altered, then signed", edit(t, plain, func(f *excelize.File) error {
			sheet, cell := typed(f, "suction_temp")
			sign(f)
			return f.SetCellValue(sheet, cell, 51.5)
		}), workbook.Altered, `(Suction line temperature): "`},
		{"verdict typed over", edit(t, plain, func(f *excelize.File) error {
			sheet, cell := at(t, f, doubtful)
			return f.SetCellValue(sheet, cell, "within")
		}), workbook.Altered, `"too close to call" became "within (no longer a formula)"`},
		{"formula where a number was", edit(t, plain, func(f *excelize.File) error {
			sheet, cell := typed(f, "suction_temp")
			return f.SetCellFormula(sheet, cell, "50+1")
		}), workbook.Altered, "(by a formula)"},
		{"reading removed", edit(t, plain, func(f *excelize.File) error {
			sheet, cell := typed(f, "suction_temp")
			return f.SetCellValue(sheet, cell, nil)
		}), workbook.Altered, "Suction line temperature"},
		{"something written beside", edit(t, plain, func(f *excelize.File) error { return f.SetCellValue("Readings", "M40", "ok") }), workbook.Altered, "Readings!M40"},
		{"sheet removed", edit(t, plain, func(f *excelize.File) error { return f.DeleteSheet("Label") }), workbook.Altered, "sheet removed"},
		{"seal removed", edit(t, plain, func(f *excelize.File) error { return f.DeleteSheet("Seal") }), workbook.Damaged, "no seal"},
		{"digest forged", edit(t, plain, func(f *excelize.File) error { return f.SetCellValue("Seal", "B3", strings.Repeat("0", 64)) }), workbook.Damaged, "does not fit its digest"},
		{"property forged", edit(t, plain, func(f *excelize.File) error {
			return f.SetCustomProps(excelize.CustomProperty{Name: "Retrostage record SHA-256", Value: "00"})
		}), workbook.Damaged, "document properties differs"},
		{"payload torn", edit(t, plain, func(f *excelize.File) error { return f.SetCellValue("Seal", "B8", "H4sI") }), workbook.Damaged, "seal"},
		{"signed by a program that does not calculate", forget(t, edit(t, plain, sign)), workbook.Signed, ""},
		{"altered by a program that does not calculate", forget(t, edit(t, plain, func(f *excelize.File) error {
			sheet, cell := typed(f, "suction_temp")
			sign(f)
			return f.SetCellValue(sheet, cell, 51.5)
		})), workbook.Altered, `(Suction line temperature): "`},
		{"formula changed by a program that does not calculate", forget(t, edit(t, plain, func(f *excelize.File) error {
			sheet, cell := at(t, f, doubtful)
			sign(f)
			return f.SetCellFormula(sheet, cell, `"within"`)
		})), workbook.Altered, `"too close to call" became ""`},
		{"cut short", plain[:len(plain)/2], workbook.Damaged, "cut short"},
		{"something else", []byte("Dear Sir, this is no workbook at all."), workbook.Damaged, "not a workbook"},
	} {
		r, err := workbook.ReadBytes(c.file)
		if r.State != c.want || (err != nil) != (c.want == workbook.Damaged) {
			t.Errorf("%s: state %q, error %v, changes %v; want %q", c.name, r.State, err, r.Changes, c.want)
			continue
		}
		text := fmt.Sprint(err, r.Changes)
		if !strings.Contains(text, c.seen) {
			t.Errorf("%s: %.300q does not say %q", c.name, text, c.seen)
		}
	}
}

// The old value is the one that was written, the new one what was typed.
func TestOldAndNew(t *testing.T) {
	t.Parallel()
	b := edit(t, make1(t, 1, 1, workbook.Options{}), func(f *excelize.File) error {
		sheet, cell := at(t, f, "suction_temp")
		return f.SetCellValue(sheet, "C"+cell[1:], 99.25)
	})
	j, _, _ := demo.Job(1, 1)
	r, err := workbook.ReadBytes(b)
	if err != nil || len(r.Changes) == 0 {
		t.Fatal(r.State, err)
	}
	c := r.Changes[0]
	if c.Sheet != "Readings" || c.Old != strings.TrimSuffix(j.Text(record.SuctionTemp), ".0") || c.New != "99.25" || c.Derived {
		t.Errorf("%+v, the record has %s", c, j.Text(record.SuctionTemp))
	}
}

func TestKey(t *testing.T) {
	t.Parallel()
	k := tabletKey()
	b := make1(t, 1, 2, workbook.Options{Key: k})
	pub := k.Public().(ed25519.PublicKey)
	if r, err := workbook.ReadBytes(b, pub); err != nil || r.Key != workbook.KnownKey {
		t.Error(r.Key, err)
	}
	if r, err := workbook.ReadBytes(b); err != nil || r.Key != workbook.UnknownKey {
		t.Error(r.Key, err)
	}
	// A signature from another file does not fit.
	var stolen string
	edit(t, make1(t, 1, 3, workbook.Options{Key: k}), func(f *excelize.File) (err error) {
		stolen, err = f.GetCellValue("Seal", "B6")
		return err
	})
	forged := edit(t, b, func(f *excelize.File) error { return f.SetCellValue("Seal", "B6", stolen) })
	if r, err := workbook.ReadBytes(forged, pub); err == nil || r.State != workbook.Damaged {
		t.Error("a stolen signature passed", r.State)
	}
	j, _, _ := demo.Job(1, 2)
	if err := workbook.Write(&bytes.Buffer{}, assess.New(j), workbook.Options{Key: k[:10]}); err == nil {
		t.Error("half a key was accepted")
	}
}

// The same job gives the same file.
func TestSameBytes(t *testing.T) {
	t.Parallel()
	a, b := make1(t, 3, 4, workbook.Options{Sign: signature}), make1(t, 3, 4, workbook.Options{Sign: signature})
	if !bytes.Equal(a, b) {
		t.Error("two exports of one job differ")
	}
}

// The record comes back as it went in.
func TestRecordComesBack(t *testing.T) {
	t.Parallel()
	for i := range soak.Count(2, 5) {
		j, _, err := demo.Job(9, i)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := j.Encode()
		r, err := workbook.ReadBytes(make1(t, 9, i, workbook.Options{System: units.SI}))
		if err != nil {
			t.Fatal(err)
		}
		if got, _ := r.Job.Encode(); !bytes.Equal(got, want) {
			t.Errorf("job %d came back changed", i)
		}
	}
}

// An empty job and one with nothing but nonsense still give a file.
func TestOddJobs(t *testing.T) {
	t.Parallel()
	odd := record.New("odd")
	for _, e := range []record.Entry{
		{Key: record.OwnerRef, Value: `=HYPERLINK("http://x","y")`}, {Key: record.WorkDone, Value: "+1\n-2\n@3\n\ttab"},
		{Key: record.SuctionPressure, Value: "lots"}, {Key: record.Refrigerant, Value: "R-410A"}, {Key: record.LiquidPressure, Value: "899"},
		{Key: record.RunningNote, Value: "_x0041_ <b>&amp;</b> \u202eright to left 漢字 😀"},
		{Key: record.PlanKey("leave the heater"), Value: "=1+1"},
	} {
		e.Time = day
		_ = odd.Set(e)
	}
	for _, j := range []*record.Job{record.New("empty"), odd} {
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
			t.Fatal(err)
		}
		r, err := workbook.ReadBytes(b.Bytes())
		if err != nil || r.State != workbook.AsExported {
			t.Errorf("%s: %s %v %v", j.ID, r.State, err, r.Changes)
		}
		again, err := workbook.ReadBytes(edit(t, b.Bytes(), func(*excelize.File) error { return nil }))
		if err != nil || again.State != workbook.AsExported {
			t.Errorf("%s saved elsewhere: %s %v %v", j.ID, again.State, err, again.Changes)
		}
	}
}

func TestGuard(t *testing.T) {
	for in, want := range map[string]string{"": "", "plain": "plain", "=1+1": "'=1+1", "-5": "-5", "-5 -3.1E-2": "-5 -3.1E-2", "-5\t3": "'-5\t3", "-5+3": "'-5+3", "-x": "'-x", "@x": "'@x", "+x": "'+x", "\tx": "'\tx",
		"'quoted": "''quoted", "＝1": "'＝1", "a=b": "a=b", "a\x00b": "a b"} {
		if got := workbook.Guard(in); got != want {
			t.Errorf("Guard(%q) = %q, want %q", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`['=+@\- a-z\n]{0,12}`).Draw(t, "s")
		if got := workbook.Unguard(workbook.Guard(s)); got != s {
			t.Fatalf("%q came back as %q", s, got)
		}
		if g := workbook.Guard(s); g != "" && strings.ContainsAny(g[:1], "=+-@\t\r") && strings.Trim(g, "+- ") != "" {
			t.Fatalf("%q is not guarded", g)
		}
	})
}

func TestFileName(t *testing.T) {
	j := record.New("j-1")
	put := func(k record.Key, v string) {
		if err := j.Set(record.Entry{Key: k, Value: v, Time: day}); err != nil {
			t.Fatal(err)
		}
	}
	put(record.VisitDate, "2026-08-14")
	put(record.OwnerRef, `..\..\A/B: "c"*?<|> ñ`)
	put(record.OldUnitSerial, "CON")
	if got := workbook.FileName(j); got != "2026-08-14_A-B-c_CON-x_j-1.xlsx" {
		t.Error(got)
	}
	rapid.Check(t, func(t *rapid.T) {
		j := record.New("j")
		_ = j.Set(record.Entry{Key: record.OwnerRef, Value: rapid.String().Draw(t, "owner"), Time: day})
		n := workbook.FileName(j)
		if len(n) > 120 || strings.Trim(n, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.") != "" || filepath.Base(n) != n || strings.Contains(n, "..") {
			t.Fatalf("%q", n)
		}
	})
}

// Every name that a formula uses is defined, and no formula calls a function
// that the usual programs lack.
func TestNamesAreDefined(t *testing.T) {
	t.Parallel()
	f, err := excelize.OpenReader(bytes.NewReader(make1(t, 1, 1, workbook.Options{})))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if n := len(f.GetDefinedName()); n < 80 {
		t.Errorf("%d names", n)
	}
	for _, d := range f.GetDefinedName() {
		sheet, _, _ := strings.Cut(strings.Trim(d.RefersTo, "'"), "'")
		if i, err := f.GetSheetIndex(sheet); err != nil || i < 0 {
			t.Errorf("%s refers to %s", d.Name, d.RefersTo)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	j, _, err := demo.Job(1, 1)
	if err != nil {
		b.Fatal(err)
	}
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := workbook.Write(&out, assess.New(j), workbook.Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len())/1024, "KiB")
}

func BenchmarkRead(b *testing.B) {
	x := make1(b, 1, 1, workbook.Options{Sign: signature})
	for b.Loop() {
		if r, err := workbook.ReadBytes(x); err != nil || r.State != workbook.Signed {
			b.Fatal(r.State, err)
		}
	}
}

// A reading that was entered later than it was measured says so on the sheet, and no
// other does.
func TestLaterIsMarked(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	count := func() int {
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
			t.Fatal(err)
		}
		z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			n += strings.Count(string(text), "(entered later than measured)")
		}
		return n
	}
	if n := count(); n != 0 {
		t.Errorf("%d readings are marked, and nobody said so", n)
	}
	if err := j.Set(record.Entry{Key: record.HoldNoted, Value: record.NotedLater, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	if n := count(); n < 4 { // two pressures, two temperatures, and what else the hold has
		t.Errorf("%d readings are marked", n)
	}
}
