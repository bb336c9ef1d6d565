package register

import (
	"archive/zip"
	"bytes"
	"crypto/ed25519"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf16"

	"retrostage/assets/soak"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

const firstSheet = "xl/worksheets/sheet2.xml"

// in changes one part by a replacement of every place.
func (k *kit) in(part, old, now string) func() map[string][]byte {
	re := regexp.MustCompile(old)
	return k.rewrite(func(name, data string) string {
		if name == part {
			return re.ReplaceAllString(data, now)
		}
		return data
	})
}

// named gives the name a style and changes something else besides.
func (k *kit) named(font string, also func(name, data string) string) func() map[string][]byte {
	first := k.styled(font, "")
	return func() map[string][]byte {
		was := k.good
		defer func() { k.good = was }()
		k.good = first()["a.xlsx"]
		return k.rewrite(also)()
	}
}

// zipAs packs the parts of the signed workbook again, as a program may that means two
// things at once.
func (k *kit) zipAs(pack func(w *zip.Writer, parts []part)) func() map[string][]byte {
	return func() map[string][]byte {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		pack(w, zipped(k.t, k.good))
		if err := w.Close(); err != nil {
			k.t.Fatal(err)
		}
		return map[string][]byte{"a.xlsx": out.Bytes()}
	}
}

func put(t testing.TB, w *zip.Writer, name, data string) {
	o, err := w.Create(name)
	if err == nil {
		_, err = io.WriteString(o, data)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// cellOf finds the cell that holds some text of the signer's.
func (k *kit) cellOf(text, inner string) func() map[string][]byte {
	re := regexp.MustCompile(`(<c r="[A-Z]+\d+" s="\d+") t="[a-zA-Z]+">(?:<is><t[^>]*>|<v>)` + regexp.QuoteMeta(text) + `(?:</t></is>|</v>)</c>`)
	if _, err := strconv.Atoi(text); err == nil {
		re = regexp.MustCompile(`(<c r="[A-Z]+\d+" s="\d+")><v>` + text + `</v></c>`)
	}
	return k.rewrite(func(_, data string) string { return re.ReplaceAllString(data, "${1}"+inner+"</c>") })
}

// Forty more ways, of a seventh attacker: workbooks that show something else than is
// read, and true workbooks of a bad job. What came of each before stands in
// testdata/attempts/paper.md.
func TestAttemptsAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("writes every workbook again")
	}
	t.Parallel()
	k := demoKit(t)
	serial := strconv.Itoa(int(k.at(2).Sub(time.Date(1899, 12, 30, 12, 0, 0, 0, time.UTC)).Hours() / 24))
	accept := "accept " + k.code()
	all := func(name string) bool { return strings.HasPrefix(name, "xl/worksheets/sheet") }
	onAll := func(old, now string) func() map[string][]byte {
		re := regexp.MustCompile(old)
		return k.rewrite(func(name, data string) string {
			if all(name) {
				return re.ReplaceAllString(data, now)
			}
			return data
		})
	}
	attempts := []try{
		// The look.
		{"the name in black that is brightened to white", k.styled(`<color theme="1" tint="0.999"/><name val="Arial"/><sz val="11"/>`, ""), nil},
		{"the name in the theme's dark, which is white", k.named(`<color theme="1"/><name val="Arial"/><sz val="11"/>`, func(name, data string) string {
			if name == "xl/theme/theme1.xml" {
				return regexp.MustCompile(`(?s)<a:dk1>.*?</a:dk1>`).ReplaceAllString(data, `<a:dk1><a:srgbClr val="FFFFFF"></a:srgbClr></a:dk1>`)
			}
			return data
		}), nil},
		{"the name in the table's black, which is white", k.named(`<color indexed="8"/><name val="Arial"/><sz val="11"/>`, func(name, data string) string {
			if name == "xl/styles.xml" {
				return strings.Replace(data, `</styleSheet>`, `<colors><indexedColors>`+strings.Repeat(`<rgbColor rgb="00FFFFFF"/>`, 64)+`</indexedColors></colors></styleSheet>`, 1)
			}
			return data
		}), nil},
		{"a ground that runs from black to black", k.in("xl/styles.xml", `<patternFill patternType="none">(</patternFill>)?`, `<gradientFill degree="90"><stop position="0"><color rgb="FF000000"/></stop><stop position="1"><color rgb="FF000000"/></stop></gradientFill>`), nil},
		{"a ground of stripes", k.in("xl/styles.xml", `patternType="none"`, `patternType="darkTrellis"`), nil},
		{"letters by the theme, which is a font of signs", k.rewrite(func(name, data string) string {
			switch name {
			case "xl/styles.xml":
				return strings.ReplaceAll(data, `</font>`, `<scheme val="minor"/></font>`)
			case "xl/theme/theme1.xml":
				return regexp.MustCompile(`(<a:minorFont><a:latin typeface=")[^"]*`).ReplaceAllString(data, "${1}Wingdings")
			}
			return data
		}), nil},
		{"a line across every cell", k.in("xl/styles.xml", `<border>`, `<border diagonalUp="1" diagonalDown="1">`), nil},
		{"the decision struck out", k.lookOf(accept), nil},
		{"the date struck out", k.lookOf(serial), nil},
		// The sheet.
		{"rows too low for their words", k.in(firstSheet, ` ht="[0-9.]+"`, ` ht="7"`), nil},
		{"columns too narrow for their words", onAll(` width="[0-9.]+"`, ` width="1.5"`), nil},
		{"words in the header", k.in(firstSheet, `<oddFooter>`, `<oddHeader>&amp;C&amp;24NOTHING STANDS AGAINST IT</oddHeader>${0}`), nil},
		{"words in the footer", k.in(firstSheet, `<oddFooter>[^<]*`, `<oddFooter>&amp;CALL WITHIN`), nil},
		{"printed too small to read", k.in(firstSheet, `<pageSetup`, `<pageSetup scale="10"`), nil},
		{"rows out of reach above a frozen pane", k.in(firstSheet, `<sheetView ([^>]*)>(.*?)</sheetView>`, `<sheetView $1 topLeftCell="A30"><pane ySplit="5" topLeftCell="A90" state="frozen"/></sheetView>`), nil},
		{"a cell of a kind of its own", k.in(firstSheet, `<c r="([A-Z]+)12"`, `<c vm="1" r="${1}12"`), nil},
		{"a conditional format that only newer programs read", k.in(firstSheet, `</worksheet>`, `<extLst><ext uri="{78C0D931-6437-407d-A8EE-F0AAD7539E65}" xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"><x14:conditionalFormattings><x14:conditionalFormatting xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main"><x14:cfRule type="expression" priority="1" id="{1}"><xm:f>TRUE</xm:f><x14:dxf><font><color rgb="FFFFFFFF"/></font></x14:dxf></x14:cfRule><xm:sqref>A1:Z99</xm:sqref></x14:conditionalFormatting></x14:conditionalFormattings></ext></extLst></worksheet>`), nil},
		{"lines drawn in cells", k.in(firstSheet, `</worksheet>`, `<extLst><ext uri="{05C60535-1F16-4fd2-B633-F4F36F0B64E0}" xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"><x14:sparklineGroups><x14:sparklineGroup><x14:sparklines><x14:sparkline/></x14:sparklines></x14:sparklineGroup></x14:sparklineGroups></ext></extLst></worksheet>`), nil},
		{"small letters above a word", k.in(firstSheet, `</t></is>`, `</t><rPh sb="0" eb="3"><t>within</t></rPh></is>`), nil},
		{"a sheet hidden for good", k.in("xl/workbook.xml", `<sheet name="Findings"`, `${0} state="veryHidden"`), nil},
		{"a picture behind the cells", k.in(firstSheet, `</worksheet>`, `<picture r:id="rId1" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"/></worksheet>`), nil},
		// The book.
		{"days counted from 1904", k.in("xl/workbook.xml", `<workbookPr `, `${0}date1904="1" `), nil},
		{"a macro", k.in("xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId909" Target="other.xml" Type="http://schemas.microsoft.com/office/2006/relationships/vbaProject"/></Relationships>`), nil},
		{"a link to another book", k.in("xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId909" Target="other.xml" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/externalLink"/></Relationships>`), nil},
		{"precision as shown", k.in("xl/workbook.xml", `</workbook>`, `<calcPr fullPrecision="0" fullCalcOnLoad="1"/></workbook>`), nil},
		{"words that the file defines itself", k.in(firstSheet, `(<\?xml[^>]*>)`, `${1}<!DOCTYPE worksheet [<!ENTITY w "within">]>`), nil},
		{"a part in two-byte letters", k.rewrite(func(name, data string) string {
			if name != firstSheet {
				return data
			}
			b := []byte{0xff, 0xfe}
			for _, u := range utf16.Encode([]rune(strings.Replace(data, "UTF-8", "UTF-16", 1))) {
				b = append(b, byte(u), byte(u>>8))
			}
			return string(b)
		}), nil},
		{"one part twice", k.zipAs(func(w *zip.Writer, parts []part) {
			for _, p := range parts {
				put(t, w, p.name, p.data)
				if p.name == firstSheet {
					put(t, w, p.name, strings.ReplaceAll(p.data, "outside", "within"))
				}
			}
		}), nil},
		{"one part twice, in capitals", k.zipAs(func(w *zip.Writer, parts []part) {
			for _, p := range parts {
				if p.name == firstSheet {
					put(t, w, "xl/worksheets/SHEET2.xml", strings.ReplaceAll(p.data, "outside", "within"))
				}
				put(t, w, p.name, p.data)
			}
		}), nil},
		{"a part by a backslash", k.zipAs(func(w *zip.Writer, parts []part) {
			for _, p := range parts {
				put(t, w, p.name, p.data)
			}
			put(t, w, `xl\worksheets\sheet2.xml`, "")
		}), nil},
		{"a part by a written-out letter", k.rewrite(func(name, data string) string {
			if name == "xl/_rels/workbook.xml.rels" {
				k.add["xl/worksheets/sheet%32.xml"] = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>`
				return strings.Replace(data, "worksheets/sheet2.xml", "worksheets/sheet%32.xml", 1)
			}
			return data
		}), nil},
		{"a sheet told to be a dialogue", k.in("[Content_Types].xml", `(PartName="/xl/worksheets/sheet2.xml" ContentType="[^"]*)worksheet\+xml`, `${1}dialogsheet+xml`), nil},
		// Who signed, and what.
		{"accepted and taken back in one word", k.cellOf(accept, ` t="inlineStr"><is><t>`+accept+` - no: returned</t></is>`), nil},
		{"both decisions", k.cellOf(accept, ` t="inlineStr"><is><t>`+accept+" return "+k.code()+`</t></is>`), nil},
		{"the name in letters of another alphabet", k.sign("S. Реrvіsоr", nil), nil},
		{"two names", k.sign("S. Pervisor, not seen; J. Smith", nil), nil},
		{"a date that never was", k.cellOf(serial, ` t="inlineStr"><is><t>2026-02-30</t></is>`), nil},
		{"a day that has not come", k.write(workbook.Options{Sign: workbook.Signature{Name: "S. Pervisor", Date: today.AddDate(0, 2, 0).Format(time.DateOnly), Decision: "accept"}}, nil), nil},
		{"signed before the visit, on a day before the export", k.write(workbook.Options{Sign: workbook.Signature{Name: "S. Pervisor", Date: k.at(-3).Format(time.DateOnly), Decision: "accept"}}, nil), nil},
		// True workbooks of a bad job.
		{"the technician has not signed", k.write(workbook.Options{}, func(j *record.Job) { k.set(j, record.SignedBy, "") }), nil},
		{"changed after the technician signed", k.write(workbook.Options{}, func(j *record.Job) { k.set(j, record.SuctionTemp, "58") }), nil},
		{"superheat gone, told by the readings", k.write(workbook.Options{}, k.then(record.SuctionTemp, "30", record.SuctionPressure, "150")), nil},
		{"the winding is down to ground", k.write(workbook.Options{}, k.then(record.Insulation, "0.4")), nil},
		{"the breaker is too large, and nobody says why", k.write(workbook.Options{}, k.then(record.Breaker, "100")), nil},
		{"nobody compared the drawing", k.write(workbook.Options{}, k.then(record.UnitCompared, "")), nil},
		{"no serial number that is one", k.write(workbook.Options{}, k.then(record.NewCompressorSerial, "n/a")), nil},
		{"the new compressor has the old one's number", k.write(workbook.Options{}, k.then(record.NewCompressorSerial, k.job.Text(record.OldCompressorSerial))), nil},
		{"the new compressor has the unit's number", k.write(workbook.Options{}, k.then(record.NewCompressorSerial, k.job.Text(record.OldUnitSerial))), nil},
		{"another refrigerant came in", k.write(workbook.Options{}, k.then(record.ChargedWith, "R-32")), nil},
		{"the label says another charge", k.write(workbook.Options{}, k.then(record.LabelCharge, "40")), nil},
		{"the owner did not agree", k.write(workbook.Options{}, k.then(record.ConsentSigned, "not yet")), nil},
		{"the hold lost its pressure", k.write(workbook.Options{}, k.then(record.TestP2, "120")), nil},
		{"a visit that has not come", k.write(workbook.Options{}, k.then(record.VisitDate, today.AddDate(0, 3, 0).Format(time.DateOnly))), nil},
	}
	k.none(t, attempts)
}

// demoKit is a kit of the demo job, which has pictures and charts, signed by its
// technician, under a policy that asks for every step.
func demoKit(t testing.TB) *kit {
	t.Helper()
	demoOnce.Do(func() { demoMade = newDemoKit(t) })
	if demoMade == nil {
		t.Fatal("the demo job gave no workbook to another test")
	}
	k := *demoMade // each test has its own; the job and the export are only read
	k.t = t
	return &k
}

var (
	demoOnce sync.Once
	demoMade *kit
)

func newDemoKit(t testing.TB) *kit {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	k := &kit{t: t, tablet: ed25519.NewKeyFromSeed(bytes.Repeat([]byte{3}, 32)), chief: ed25519.NewKeyFromSeed(bytes.Repeat([]byte{4}, 32)), job: j, strict: true}
	for _, e := range [][2]any{{record.PartWarranty, "none"}, {record.PartSupplier, "Supplier 1"}, {record.PartInvoice, "I-1"}, {record.PartInvoiced, "2026-08-13"},
		{record.FailedPart, "scrapped"}, {record.LabourWarranty, "1 year"}, {record.SignedBy, "T-07"}} {
		k.set(j, e[0].(record.Key), e[1].(string))
	}
	k.good = k.make(workbook.Options{}, nil)
	return k
}

// code goes with a decision on the kit's job.
func (k *kit) code() string {
	r, err := workbook.ReadBytes(k.good)
	if err != nil {
		k.t.Fatal(err)
	}
	return workbook.DecisionCode(r.Digest)
}

// then enters more, and the technician signs what came of it.
func (k *kit) then(pairs ...any) func(j *record.Job) {
	return func(j *record.Job) {
		who := j.Text(record.SignedBy)
		for i := 0; i < len(pairs); i += 2 {
			k.set(j, pairs[i].(record.Key), pairs[i+1].(string))
		}
		last := j.Entries[len(j.Entries)-1]
		if err := j.Set(record.Entry{Key: record.SignedBy, Value: who, Time: last.Time.Add(time.Minute), By: last.By, Again: true}); err != nil {
			k.t.Fatal(err)
		}
	}
}

// lookOf strikes out the cell that holds some text.
func (k *kit) lookOf(text string) func() map[string][]byte {
	return func() map[string][]byte {
		defer func() { k.cell = nil }()
		k.cell = regexp.MustCompile(strings.Replace(nameCell.String(), `S\. Pervisor`, regexp.QuoteMeta(text), 1))
		if _, err := strconv.Atoi(text); err == nil {
			k.cell = regexp.MustCompile(`<c r="[A-Z]+\d+" s="\d+"><v>` + text + `</v></c>`)
		}
		return k.styled(`<strike/><color rgb="FF000000"/><name val="Arial"/><sz val="11"/>`, "")()
	}
}

// pythonPy edits workbooks by openpyxl, each in one way.
const pythonPy = `
import base64, copy, gzip, sys
import openpyxl
from openpyxl.styles import Font
src, out = sys.argv[1:3]
def edit(name, f, **kw):
    wb = openpyxl.load_workbook(src, **kw)
    f(wb)
    wb.save(out + "/" + name + ".xlsx")
def find(ws, words):
    for row in ws.iter_rows():
        for c in row:
            if isinstance(c.value, str) and c.value.startswith(words):
                return c
    raise SystemExit("nothing to change")
def unsealed(wb):
    ws = wb["Seal"]
    text = "".join(r[1].value for r in ws.iter_rows(min_row=8) if r[1].value)
    raw = gzip.decompress(base64.b64decode(text)).replace(b"within", b"wIthin", 1)
    text = base64.b64encode(gzip.compress(raw)).decode()
    for i, r in enumerate(ws.iter_rows(min_row=8)):
        r[1].value = text[30000*i:30000*(i+1)] or None
edit("a verdict written over", lambda wb: setattr(find(wb["Findings"], ("=IF(",)), "value", "within"))
edit("a row put in", lambda wb: wb["Hand-over"].insert_rows(5))
edit("a row taken out", lambda wb: wb["Findings"].delete_rows(9))
edit("a sheet taken out", lambda wb: wb.remove(wb["Findings"]))
edit("a sheet renamed", lambda wb: setattr(wb["Findings"], "title", "Findings, old"))
edit("a sheet copied", lambda wb: setattr(wb.copy_worksheet(wb["Findings"]), "title", "Findings, new"))
edit("values in place of formulas", lambda wb: None, data_only=True)
edit("the seal changed", unsealed)
edit("letters of signs", lambda wb: setattr(find(wb["Findings"], ("=IF(",)), "font", Font(name="Wingdings", size=10)))
edit("columns narrowed", lambda wb: [setattr(d, "width", 1.5) for d in wb["Hand-over"].column_dimensions.values()])
edit("a note", lambda wb: setattr(find(wb["Hand-over"], ("Name",)), "comment", openpyxl.comments.Comment("all is well", "x")))
`

// The same by the programs that people have: openpyxl edits, and LibreOffice saves
// what was forged, which may wash off what a reader would see.
func TestAttemptsByPrograms(t *testing.T) {
	const py = "/usr/bin/python3"
	if testing.Short() || exec.Command(py, "-c", "import openpyxl").Run() != nil {
		t.Skip("openpyxl is not installed, or short")
	}
	t.Parallel()
	k := demoKit(t)
	dir := t.TempDir()
	src := filepath.Join(dir, "src.xlsx")
	if err := os.WriteFile(src, k.good, 0o644); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "out")
	if err := os.Mkdir(out, 0o755); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command(py, "-c", pythonPy, src, out).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	files, err := filepath.Glob(filepath.Join(out, "*.xlsx"))
	if err != nil || len(files) < 11 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	if soffice, err := exec.LookPath("soffice"); err == nil && soak.On() {
		washed := filepath.Join(dir, "washed")
		args := append([]string{"-env:UserInstallation=file://" + filepath.Join(dir, "profile"), "--headless", "--convert-to", "xlsx", "--outdir", washed}, files...)
		if b, err := exec.Command(soffice, args...).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, b)
		}
		more, _ := filepath.Glob(filepath.Join(washed, "*.xlsx"))
		t.Logf("%d saved again by LibreOffice", len(more))
		files = append(files, more...)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		k.t = t
		for _, r := range k.attempt(map[string][]byte{"a.xlsx": b}, nil) {
			if strings.HasPrefix(r.Act, "file it") {
				t.Errorf("%s: %s", filepath.Base(f), r.Act)
			} else {
				t.Logf("%s: %s %s %s", filepath.Base(f), r.Act, r.Reason, r.Altered())
			}
		}
	}
}

// honestPy signs in ways in which people do: in a soak each in a file of its own, in the
// usual run several in one file, as far as they do not touch the same thing. A file with
// several of them is filed only if none of them is held against it.
const honestPy = `
import datetime, sys, openpyxl
from openpyxl.styles import Alignment, Font, PatternFill
src, out, code, together = sys.argv[1:5]
ways = []
def way(name, f, **kw): ways.append((name, [f], kw, {kw_of for kw_of in kw} | set(touches.get(name, ()))))
touches = {"in bold and dark blue": ["font"], "in italics, as a hand would": ["font"], "in the theme's own dark": ["font"],
    "remarks that begin with a sign": ["remarks"], "looked at larger, from another sheet": ["view"], "scrolled down": ["view"]}
def save(name, fs, who="S. Pervisor", date=datetime.date(2026, 11, 2), remarks=None, fmt="yyyy-mm-dd"):
    wb = openpyxl.load_workbook(src)
    def cell(n):
        sheet, at = wb.defined_names[n].attr_text.rsplit("!", 1)
        return wb[sheet.strip("'")][at.replace("$", "")]
    cell("sign_name").value = who
    cell("sign_date").value = date
    cell("sign_date").number_format = fmt
    cell("sign_decision").value = "accept " + code
    cell("sign_remarks").value = remarks
    for f in fs:
        f(wb, cell)
    wb.save(out + "/" + name + ".xlsx")
def nothing(wb, cell): pass
way("in bold and dark blue", lambda wb, c: setattr(c("sign_name"), "font", Font(name="Calibri", bold=True, size=14, color="FF1F3864")))
way("in italics, as a hand would", lambda wb, c: setattr(c("sign_name"), "font", Font(name="Times New Roman", italic=True, size=16)))
way("in the theme's own dark", lambda wb, c: setattr(c("sign_name"), "font", Font(size=11, color=openpyxl.styles.colors.Color(theme=1))))
way("the day before the month", nothing, fmt="dd.mm.yyyy")
way("the month in letters", nothing, fmt="[$-409]d-mmm-yyyy")
way("long remarks in lines", nothing, remarks="see the breaker\n" * 60)
way("remarks that begin with a sign", lambda wb, c: setattr(c("sign_remarks"), "data_type", "s"), remarks="- none")
way("a column made wider and a row higher", lambda wb, c: (setattr(wb["Hand-over"].column_dimensions["G"], "width", 40), setattr(wb["Hand-over"].row_dimensions[11], "height", 90)))
way("looked at larger, from another sheet", lambda wb, c: (setattr(wb["Hand-over"].sheet_view, "zoomScale", 150), setattr(wb, "active", 2)))
way("scrolled down", lambda wb, c: setattr(wb["Hand-over"].sheet_view, "topLeftCell", "A20"))
way("the head kept in sight", lambda wb, c: setattr(wb["Findings"], "freeze_panes", "A6"))
way("printed on other paper", lambda wb, c: (setattr(wb["Hand-over"].page_setup, "paperSize", 9), setattr(wb["Hand-over"].page_margins, "left", 0.4)))
way("remarks in the middle, in lines", lambda wb, c: setattr(c("sign_remarks"), "alignment", Alignment(horizontal="center", wrap_text=True)), remarks="good work")
way("the box in another light colour", lambda wb, c: setattr(c("sign_name"), "fill", PatternFill("solid", fgColor="FFFFF2CC")))
way("with a title and an author", lambda wb, c: (setattr(wb.properties, "title", "checked"), setattr(wb.properties, "creator", "office")))
way("spaces around the name", nothing, who=" S.  Pervisor ")
files = []
for name, fs, kw, taken in ways:
    for file in files if together == "true" else []:
        if not file[3] & taken:
            file[0].append(name)
            file[1].extend(fs)
            file[2].update(kw)
            file[3].update(taken)
            break
    else:
        files.append(([name], list(fs), dict(kw), set(taken)))
for i, (names, fs, kw, _) in enumerate(files):
    save("; ".join(names) if len(names) == 1 else "ways %d" % i, fs, **kw)
    print("; ".join(names))
print(len(ways), "ways")
`

// Ways of signing that are honest are never called altered, and are filed.
func TestHonestWays(t *testing.T) {
	const py = "/usr/bin/python3"
	if testing.Short() || exec.Command(py, "-c", "import openpyxl").Run() != nil {
		t.Skip("openpyxl is not installed, or short")
	}
	t.Parallel()
	k := demoKit(t)
	dir := t.TempDir()
	src, out := filepath.Join(dir, "src.xlsx"), filepath.Join(dir, "out")
	if err := os.WriteFile(src, k.make(workbook.Options{Sign: workbook.Signature{Remarks: " "}}, nil), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(out, 0o755); err != nil {
		t.Fatal(err)
	}
	b, err := exec.Command(py, "-c", honestPy, src, out, k.code(), strconv.FormatBool(!soak.On())).CombinedOutput()
	if err != nil || !strings.HasSuffix(string(b), "\n16 ways\n") {
		t.Fatalf("%v\n%s", err, b)
	}
	t.Logf("%s", b)
	files, _ := filepath.Glob(filepath.Join(out, "*.xlsx"))
	if soffice, err := exec.LookPath("soffice"); err == nil && soak.On() {
		washed := filepath.Join(dir, "washed")
		args := append([]string{"-env:UserInstallation=file://" + filepath.Join(dir, "profile"), "--headless", "--convert-to", "xlsx", "--outdir", washed}, files...)
		if b, err := exec.Command(soffice, args...).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, b)
		}
		more, _ := filepath.Glob(filepath.Join(washed, "*.xlsx"))
		files = append(files, more...)
	}
	if len(files) < soak.Count(strings.Count(string(b), "\n")-1, 16) {
		t.Fatalf("%d files", len(files))
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range k.run(map[string][]byte{"a.xlsx": b}, nil) {
			if r.State != workbook.Signed || !strings.HasPrefix(r.Act, "file it") {
				t.Errorf("%s: %s, %s %s %s", f, r.State, r.Act, r.Reason, r.Altered())
			}
		}
	}
	t.Logf("%d files signed in honest ways", len(files))
}
