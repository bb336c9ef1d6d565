package workbook_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// forgery is one way to make a signed workbook say something else. change gets
// every part by its name.
type forgery struct {
	name string
	part string // regular expression
	old  string // regular expression
	new  string
	want string // found in the changes, or in the error
}

// How parts are named and what is in them is fixed by the writer: sheet2 is the
// hand-over, sheet3 its continuation, sheet4 Findings.
var forgeries = []forgery{
	{"a formula changed, its value left", `xl/worksheets/sheet4\.xml`, `<f>MIN\(`, `<f>MAX(`, "formula"},
	{"a formula that counts changed", `xl/worksheets/sheet2\.xml`, `COUNTIF\(verdicts,`, `0*COUNTIF(verdicts,`, "formula"},
	{"a formula made to last", `xl/worksheets/sheet4\.xml`, `<f>MIN\(`, `<f t="array" ref="I7">MIN(`, "formula"},
	{"a number format with words", `xl/styles\.xml`, `formatCode="0\.0"`, `formatCode="&quot;7.0&quot;"`, "number format"},
	{"a number format that hides", `xl/styles\.xml`, `formatCode="0\.0"`, `formatCode=";;;"`, "number format"},
	{"white ink", `xl/styles\.xml`, `<color rgb="FF1F2933"></color>`, `<color rgb="FFFFFFFF"></color>`, "look"},
	{"a row hidden", `xl/worksheets/sheet2\.xml`, `<row r="20"`, `<row r="20" hidden="1"`, "hidden"},
	{"a row of no height", `xl/worksheets/sheet2\.xml`, `(<row r="20"[^>]*) ht="[^"]*"`, `$1 ht="0.5"`, "hidden"},
	{"a column hidden", `xl/worksheets/sheet3\.xml`, `<col min="5" max="5"`, `<col hidden="1" min="5" max="5"`, "hidden"},
	{"every row hidden", `xl/worksheets/sheet2\.xml`, `<sheetData>`, `<sheetFormatPr zeroHeight="1" defaultRowHeight="15"/><sheetData>`, "hidden"},
	{"a sheet hidden", `xl/workbook\.xml`, `(<sheet name="Findings"[^>]*)>`, `$1 state="veryHidden">`, "sheet"},
	{"sheets in another order", `xl/workbook\.xml`, `(<sheet name="Hand-over".*?</sheet>)(<sheet name="Readings".*?</sheet>)`, `$2$1`, "sheet"},
	{"less printed of the first sheet", `xl/workbook\.xml`, `(<definedName[^>]*_xlnm\.Print_Area[^>]*>(?:'|&#39;)Hand-over(?:'|&#39;)!\$A\$1:)[^<]*`, `$1$$H$$20`, "printed"},
	{"a second sheet of like name", `xl/workbook\.xml`, `(<sheet name="Readings".*?</sheet>)`, `$1<sheet name="readings" sheetId="90" r:id="rId5"></sheet>`, "two of its sheets"},
	{"a part found two ways", `xl/workbook\.xml`, `<sheet name="Hand-over" sheetId="2" r:id`, `<sheet name="Hand-over" sheetId="2" xmlns:q="http://schemas.openxmlformats.org/officeDocument/2006/relationships" q:id="rId5" r:id`, "read in two ways"},
	{"a part named without its namespace", `xl/workbook\.xml`, `<sheet name="Hand-over" sheetId="2" r:id="rId4"`, `<sheet name="Hand-over" sheetId="2" xmlns:q="urn:q" q:id="rId4" r:id="rId5"`, "two of its sheets"},
	{"sheets in content to choose from", `xl/workbook\.xml`, `(<sheet name="Hand-over".*?</sheet>)`, `<mc:AlternateContent><mc:Choice Requires="x15">$1</mc:Choice></mc:AlternateContent>`, "read in two ways"},
	{"cells in content to choose from", `xl/worksheets/sheet2\.xml`, `(?s)<sheetData>(.*?)</sheetData>`, `<mc:AlternateContent xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"><mc:Choice Requires="zz"><sheetData>$1</sheetData></mc:Choice></mc:AlternateContent>`, "read in two ways"},
	{"cells of another namespace", `xl/worksheets/sheet2\.xml`, `<sheetData>`, `<sheetData xmlns="urn:other">`, "two namespaces"},
	{"two parts by one relationship", `xl/_rels/workbook\.xml\.rels`, `</Relationships>`, `<Relationship Id="rId4" Target="worksheets/sheet3.xml" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"></Relationship></Relationships>`, "two parts"},
	{"a picture replaced", `xl/media/image1\.png`, `IEND`, `IENE`, "picture"},
	{"a prompt that says something else", `xl/worksheets/sheet\d+\.xml`, `accept: the job is done`, `accept: seen, nothing more`, "seen, nothing more"},
	{"a chart drawn over what lies below it", `xl/drawings/drawing\d\.xml`, `(?s)(<xdr:to>.*?<xdr:row>)(\d+)`, `${1}9${2}`, "reach"},
	{"a chart drawn over what lies beside it", `xl/drawings/drawing\d\.xml`, `(?s)(<xdr:to><xdr:col>)(\d+)`, `${1}9${2}`, "reach"},
	{"a picture made a stamp", `xl/drawings/drawing\d\.xml`, `<xdr:ext cx="\d+" cy="\d+"`, `<xdr:ext cx="127000" cy="127000"`, "reach"},
	{"a picture made to cover the sheet", `xl/drawings/drawing\d\.xml`, `<xdr:ext cx="(\d+)" cy="(\d+)"`, `<xdr:ext cx="${1}0" cy="${2}0"`, "reach"},
	{"a picture turned", `xl/drawings/drawing\d\.xml`, `<a:xfrm`, `<a:xfrm rot="5400000"`, "another picture"},
	{"a picture cut", `xl/drawings/drawing\d\.xml`, `<a:stretch>`, `<a:srcRect b="50000"/><a:stretch>`, "picture"},
	{"a box drawn over the sheet", `xl/drawings/drawing\d\.xml`, `<xdr:oneCellAnchor>`, `<xdr:absoluteAnchor><xdr:pos x="0" y="0"/><xdr:ext cx="9" cy="9"/><xdr:sp macro="" textlink=""></xdr:sp><xdr:clientData/></xdr:absoluteAnchor><xdr:oneCellAnchor>`, "shape"},
	{"a chart of other cells", `xl/charts/chart1\.xml`, `f>(?:'|&#39;)?Series(?:'|&#39;)?!`, `f>Readings!`, "chart"},
	{"text beside the strips", `xl/worksheets/sheet4\.xml`, `(<row r="7".*?)</row>`, `$1<c r="BA7" t="str"><v>all within</v></c></row>`, "all within"},
	{"a number beside the strips", `xl/worksheets/sheet4\.xml`, `(<row r="7".*?)</row>`, `$1<c r="BA7"><v>7</v></c></row>`, "number format"},
	{"a word on a strip", `xl/worksheets/sheet4\.xml`, `<v>●</v>`, `<v>within</v>`, "within"},
	{"a name that means another cell", `xl/workbook\.xml`, `(<definedName name="suction_temp">)[^<]*`, `$1'Readings'!$$E$$8`, "name suction_temp"},
	{"a name more", `xl/workbook\.xml`, `<definedNames>`, `<definedNames><definedName name="ROUND2">1</definedName>`, "name ROUND2"},
	{"a rule that prints words", `xl/styles\.xml`, `<dxf>`, `<dxf><numFmt numFmtId="190" formatCode="&quot;within&quot;"/>`, "conditional format"},
	{"a rule more", `xl/worksheets/sheet3\.xml`, `<pageMargins`, `<conditionalFormatting sqref="E5:E90"><cfRule type="expression" priority="9" dxfId="0"><formula>TRUE</formula></cfRule></conditionalFormatting><pageMargins`, "conditional format"},
	{"cells merged over others", `xl/worksheets/sheet2\.xml`, `(<mergeCells[^>]*>)`, `$1<mergeCell ref="A30:F38"/>`, "merged"},
	{"zeros not shown", `xl/worksheets/sheet2\.xml`, `<sheetView `, `<sheetView showZeros="0" `, "zeros"},
	{"a link", `xl/worksheets/sheet2\.xml`, `<pageMargins`, `<hyperlinks><hyperlink ref="A5" location="Seal!A1"/></hyperlinks><pageMargins`, "link"},
}

func signedBook(t testing.TB) []byte {
	return make1(t, 2026, 0, workbook.Options{Sign: signature, Key: tabletKey()})
}

func verify(b []byte) (workbook.Reading, error) {
	return workbook.Verify(context.Background(), b, tabletKey().Public().(ed25519.PublicKey))
}

// Nothing that can be changed in a signed workbook passes for untouched: each
// forgery is told by what it changed, by Read as well as by Verify.
func TestForged(t *testing.T) {
	t.Parallel()
	good := signedBook(t)
	r, err := verify(good)
	if err != nil || r.State != workbook.Signed || r.Check != workbook.Rebuilt || r.Other != "" {
		t.Fatalf("as signed: %s, %s, %v, changes %.900v", r.State, r.Check, err, r.Changes)
	}
	told := 0
	for _, f := range forgeries {
		part, old := regexp.MustCompile(`^`+f.part+`$`), regexp.MustCompile(f.old)
		done := false
		b := rewrite(t, good, func(name string, data []byte) []byte {
			if !part.MatchString(name) || !old.Match(data) {
				return data
			}
			done = true
			if strings.HasSuffix(name, ".png") {
				return bytes.Replace(data, []byte(f.old), []byte(f.new), 1)
			}
			loc := old.FindSubmatchIndex(data)
			if strings.HasPrefix(f.part, `xl/styles`) { // the first may be of no cell
				return old.ReplaceAll(data, []byte(f.new))
			}
			var out []byte
			out = append(out, data[:loc[0]]...)
			out = old.Expand(out, []byte(f.new), data, loc)
			return append(out, data[loc[1]:]...)
		})
		if !done {
			t.Errorf("%s: nothing was changed", f.name)
			continue
		}
		r, err := workbook.ReadBytes(b)
		said := fmt.Sprint(r.Changes, err)
		if err == nil && r.State != workbook.Altered || !strings.Contains(said, f.want) {
			t.Errorf("%s: %s, %.600s; want %q", f.name, r.State, said, f.want)
			continue
		}
		told++
	}
	t.Logf("%d forgeries told", told)
	if told < len(forgeries) {
		t.Errorf("only %d", told)
	}
}

// A comment, typed with another program, is told with what it says.
func TestCommentIsTold(t *testing.T) {
	t.Parallel()
	python(t, `
import sys, openpyxl
from openpyxl.comments import Comment
w = openpyxl.load_workbook(sys.argv[1])
w["Hand-over"]["A6"].comment = Comment("all checked, sign", "x")
w.save(sys.argv[1])`, signedBook(t), func(b []byte) {
		r, err := workbook.ReadBytes(b)
		if err != nil || r.State != workbook.Altered || !strings.Contains(fmt.Sprint(r.Changes), "all checked, sign") {
			t.Errorf("%s %v %.300v", r.State, err, r.Changes)
		}
	})
}

// python runs a script on the file of b and gives what it made of it.
func python(t *testing.T, script string, b []byte, then func([]byte)) {
	t.Helper()
	const py = "/usr/bin/python3"
	if exec.Command(py, "-c", "import openpyxl").Run() != nil {
		t.Skip("openpyxl is not installed: no file was saved by it")
	}
	path := filepath.Join(t.TempDir(), "a.xlsx")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(py, "-c", script, path).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	then(b)
}

// signPy fills in the signature block in four ways of giving a date, and saves.
const signPy = `
import datetime, sys, openpyxl
for i, path in enumerate(sys.argv[1:]):
    w = openpyxl.load_workbook(path)
    def put(name, v):
        sheet, cell = w.defined_names[name].attr_text.rsplit("!", 1)
        c = w[sheet.strip("'")][cell.replace("$", "")]
        c.value = v
        return c
    put("sign_name", ["S. Pervisor", "Zoë Ångström", "李 小龙", "  S. Pervisor  "][i % 4])
    d = put("sign_date", [datetime.date(2026, 11, 2), datetime.datetime(2026, 11, 2, 9, 30), "2026-11-02", 46328][i % 4])
    d.number_format = ["yyyy-mm-dd", "m/d/yyyy h:mm", "@", "General"][i % 4]
    sheet, cell = w.defined_names["sign_decision"].attr_text.rsplit("!", 1)
    offered = [v.formula1.strip('"').split(",") for v in w[sheet.strip("'")].data_validations.dataValidation if v.type == "list" and cell.replace("$", "") in v.sqref][0]
    accept, reject = offered
    put("sign_decision", [accept, reject, accept.capitalize(), accept.lower() + " "][i % 4])
    put("sign_remarks", ["", "see the note", "-", None][i % 4])
    w.save(path)
`

// Honest workbooks, signed by openpyxl in every way above and saved by LibreOffice
// besides, are never called altered, though rebuilt and compared.
func TestHonestSaves(t *testing.T) {
	t.Parallel()
	const py = "/usr/bin/python3"
	if exec.Command(py, "-c", "import openpyxl").Run() != nil {
		t.Skip("openpyxl is not installed: no workbook was signed by it")
	}
	if testing.Short() {
		t.Skip("other programs are slow, and share no memory with this one")
	}
	n := soak.Count(3, 100)
	dir := t.TempDir()
	var files []string
	for i := range n {
		b := make1(t, 77, i, workbook.Options{System: units.System(i / 4 % 2), Paper: workbook.Paper(i / 2 % 2), Key: tabletKey()})
		path := filepath.Join(dir, fmt.Sprintf("job-%03d.xlsx", i))
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, path)
	}
	if out, err := exec.Command(py, append([]string{"-c", signPy}, files...)...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	out := office(t, dir, "xlsx", files...)
	read, wrong := 0, 0
	for _, f := range files {
		for _, path := range []string{f, filepath.Join(out, filepath.Base(f))} {
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			r, err := verify(b)
			read++
			if err != nil || r.State != workbook.Signed || r.Check != workbook.Rebuilt {
				wrong++
				t.Errorf("%s: %s, %s, %v, %+v, %.700v", path, r.State, r.Check, err, r.Signature, r.Changes)
			}
		}
	}
	t.Logf("%d honest files read, %d not called signed", read, wrong)
}

// The seal itself, forged with every digest made to fit and signed anew by a key of
// the forger's own, is told by rebuilding: its record gives other cells.
func TestForgedSeal(t *testing.T) {
	t.Parallel()
	j, _, err := demo.Job(2026, 0)
	if err != nil {
		t.Fatal(err)
	}
	forger := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, 32))
	for _, c := range []struct{ name, old, new string }{
		{"counts", `"outside":`, `"outside":0,"was":`},
		{"a reading in the record", `\"value\": \"`, `\"value\": \"1`},
		{"the code of the decision", `"code":`, `"kode":`},
		{"that the charge was verified", `"sign":`, `"charged":true,"sign":`},
		{"the list of what is shown", "\\tformula\\t", "\\tformula\\t0*"},
	} {
		b, err := workbook.ForgeSeal(assess.New(j), workbook.Options{Sign: signature, Key: forger}, func(raw []byte) []byte {
			out := bytes.Replace(raw, []byte(c.old), []byte(c.new), 1)
			if bytes.Equal(out, raw) {
				t.Errorf("%s: nothing was changed", c.name)
			}
			return out
		})
		if err != nil {
			t.Fatal(err)
		}
		r, err := verify(b)
		if err == nil && r.State != workbook.Altered {
			t.Errorf("%s: %s, %s", c.name, r.State, r.Check)
		}
		t.Logf("%s: %s, %v, %.300v", c.name, r.State, err, r.Changes)
	}
}
