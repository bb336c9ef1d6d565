package sheetfile

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// book is a small workbook by a general library.
func book(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for cell, v := range map[string]any{"A1": "plain", "B1": 1.5, "C1": true, "A2": "a <b> & \"c\"\nd", "B2": -3e-7} {
		if err := f.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellFormula("Sheet1", "D1", "B1*2"); err != nil {
		t.Fatal(err)
	}
	if err := f.SetCustomProps(excelize.CustomProperty{Name: "who", Value: "me & you"}); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(b []byte) (*File, error) { return Open(bytes.NewReader(b), int64(len(b))) }

// drain reads every sheet.
func drain(f *File) (map[string]Cell, error) {
	cells := map[string]Cell{}
	for _, s := range f.Sheets {
		if err := f.Cells(s, func(c Cell) error {
			cells[Name(c.Row, c.Col)] = c
			return nil
		}); err != nil {
			return cells, err
		}
	}
	return cells, nil
}

func TestCells(t *testing.T) {
	f, err := open(book(t))
	if err != nil {
		t.Fatal(err)
	}
	got, err := drain(f)
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]Cell{
		"A1": {Row: 1, Col: 1, Text: "plain"}, "B1": {Row: 1, Col: 2, IsNumber: true, Number: 1.5}, "C1": {Row: 1, Col: 3, Text: "TRUE"},
		"D1": {Row: 1, Col: 4, IsFormula: true, Formula: "B1*2", Empty: true}, "A2": {Row: 2, Col: 1, Text: "a <b> & \"c\"\nd"}, "B2": {Row: 2, Col: 2, IsNumber: true, Number: -3e-7},
	} {
		if got[at] != want {
			t.Errorf("%s: %+v, want %+v", at, got[at], want)
		}
	}
	if f.Props["who"] != "me & you" {
		t.Errorf("properties %v", f.Props)
	}
}

// ECMA-376 part 1, 22.9.2.19: _x000D_ stands for a carriage return, and an
// underscore that would open such a form is itself written _x005F_.
func TestUnescape(t *testing.T) {
	for in, want := range map[string]string{"a_x000D_b": "a\rb", "_x005F_x0041_": "_x0041_", "_x00": "_x00", "_xZZZZ_": "_xZZZZ_", "": ""} {
		if got := string(unescape([]byte(in))); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// pack builds a zip from parts in order.
func pack(t testing.TB, parts ...[2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, p := range parts {
		f, err := w.Create(p[0])
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(f, p[1])
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// with adds or replaces parts of the small workbook.
func with(t testing.TB, parts ...[2]string) []byte {
	t.Helper()
	b := book(t)
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	var all [][2]string
	for _, f := range z.File {
		skip := false
		for _, p := range parts {
			skip = skip || p[0] == f.Name
		}
		if skip {
			continue
		}
		r, _ := f.Open()
		data, _ := io.ReadAll(r)
		all = append(all, [2]string{f.Name, string(data)})
	}
	return pack(t, append(all, parts...)...)
}

const sheet1 = "xl/worksheets/sheet1.xml"

func sheet(body string) [2]string {
	return [2]string{sheet1, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + body + `</sheetData></worksheet>`}
}

// What a hostile or broken file may hold, and the reason it is refused with.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		file []byte
		want string
	}{
		{"macros", with(t, [2]string{"xl/vbaProject.bin", "x"}), "macros"},
		{"macro type", with(t, [2]string{"[Content_Types].xml", `<Types><Override PartName="/xl/workbook.xml" ContentType="application/vnd.ms-excel.sheet.macroEnabled.main+xml"/></Types>`}), "macros"},
		{"external link part", with(t, [2]string{"xl/externalLinks/externalLink1.xml", "<x/>"}), "links to other files"},
		{"external relationship", with(t, [2]string{"xl/worksheets/_rels/sheet1.xml.rels", `<Relationships><Relationship Id="r" Type="http://x/image" Target="http://example.invalid/a.png" TargetMode="External"/></Relationships>`}), "links to something outside"},
		{"embedded object", with(t, [2]string{"xl/embeddings/oleObject1.bin", "x"}), "embeds"},
		{"data connection", with(t, [2]string{"xl/connections.xml", "<x/>"}), "outside data"},
		{"path up", with(t, [2]string{"../../etc/cron.d/x", "x"}), "path"},
		{"absolute path", with(t, [2]string{"/etc/passwd", "x"}), "path"},
		{"backslash", with(t, [2]string{`xl\..\..\x`, "x"}), "path"},
		{"drive", with(t, [2]string{`C:x`, "x"}), "path"},
		{"twice", pack(t, [2]string{"a.xml", ""}, [2]string{"A.xml", ""}), "stands twice"},
		{"many parts", pack(t, many(MaxParts+1)...), "parts"},
		{"bomb", with(t, sheet(strings.Repeat(" ", MaxPart+1))), "unpack to far more"},
		{"doctype", with(t, [2]string{sheet1, `<!DOCTYPE a [<!ENTITY b "bbbb">]><worksheet><c r="A1"><v>&b;</v></c></worksheet>`}), "document type"},
		{"entity", with(t, sheet(`<row><c r="A1" t="str"><v>&lol;</v></c></row>`)), "unknown entity"},
		{"deep", with(t, sheet(strings.Repeat("<a>", 70)+strings.Repeat("</a>", 70))), "nested deeper"},
		{"many cells", with(t, sheet(strings.Repeat(`<c r="A1"/>`, MaxCells+1))), "more than"},
		{"long text", with(t, sheet(`<row><c r="A1" t="str"><v>`+strings.Repeat("x", MaxText+1)+`</v></c></row>`)), "longer than"},
		{"far away", with(t, sheet(`<row><c r="XFE1"><v>1</v></c></row>`)), "stands nowhere"},
		{"row 0", with(t, sheet(`<row><c r="A0"><v>1</v></c></row>`)), "stands nowhere"},
		{"wrong type", with(t, sheet(`<row><c r="A1"><v>abc</v></c></row>`)), "is not a number"},
		{"infinite", with(t, sheet(`<row><c r="A1"><v>1e999</v></c></row>`)), "is not a number"},
		{"no such text", with(t, sheet(`<row><c r="A1" t="s"><v>99999</v></c></row>`)), "no shared text"},
		{"unknown type", with(t, sheet(`<row><c r="A1" t="zz"><v>1</v></c></row>`)), "unknown type"},
		{"open tag", with(t, [2]string{sheet1, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row>`}), "broken"},
		{"closed twice", with(t, [2]string{sheet1, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"></worksheet></worksheet>`}), "broken"},
		{"sheet missing", with(t, [2]string{"xl/_rels/workbook.xml.rels", `<Relationships/>`}), "missing"},
		{"old format", append([]byte{0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1}, make([]byte, 600)...), "password"},
		{"empty", nil, "the file is empty"},
		{"a zip of something", pack(t, [2]string{"letter.txt", "hello"}), "not a workbook"},
	} {
		f, err := open(c.file)
		if err == nil {
			_, err = drain(f)
		}
		var r *Refused
		if !errors.As(err, &r) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one about %q", c.name, err, c.want)
		}
	}
	if f, err := Open(bytes.NewReader(nil), MaxFile+1); err == nil {
		t.Error("a huge file was opened", f)
	}
}

func many(n int) (ps [][2]string) {
	for i := range n {
		ps = append(ps, [2]string{fmt.Sprintf("p%d", i), ""})
	}
	return ps
}

// A directory that lies about sizes is found out while unpacking.
func TestLyingDirectory(t *testing.T) {
	b := with(t, sheet(strings.Repeat(" ", 2<<20)))
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	f := &File{parts: map[string]*zip.File{}, total: MaxTotal - 1000}
	for _, e := range z.File {
		e.UncompressedSize64 = min(e.UncompressedSize64, 100)
		f.parts[e.Name] = e
	}
	var buf bytes.Buffer
	if _, err := f.read(sheet1, &buf); err == nil {
		t.Error("more was unpacked than there was room for")
	}
	if buf.Len() > 2000 {
		t.Errorf("%d bytes were unpacked", buf.Len())
	}
}

func TestPlace(t *testing.T) {
	// Corners of ECMA-376: columns A to XFD, rows 1 to 1048576.
	for name, want := range map[string][2]int{"A1": {1, 1}, "Z9": {9, 26}, "AA10": {10, 27}, "XFD1048576": {1048576, 16384}} {
		if r, c := Place([]byte(name)); r != want[0] || c != want[1] {
			t.Errorf("%s: %d, %d", name, r, c)
		}
	}
	for _, bad := range []string{"", "A", "1", "a1", "A01", "A-1", "XFE1", "A1048577", "A1A", "$A$1", "A99999999999999999999"} {
		if r, _ := Place([]byte(bad)); r != 0 {
			t.Errorf("%q was taken for a place", bad)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		r, c := rapid.IntRange(1, MaxRow).Draw(t, "r"), rapid.IntRange(1, MaxCol).Draw(t, "c")
		if a, b := Place([]byte(Name(r, c))); a != r || b != c {
			t.Fatalf("%d, %d became %s", r, c, Name(r, c))
		}
	})
}

// The scanner reads text as the standard library's XML decoder does, wherever
// that accepts the document.
func FuzzScanner(f *testing.F) {
	f.Add([]byte(`<a x="1"><b>t &amp; u</b><![CDATA[<c>]]><!-- d --><?e f?></a>`))
	f.Add([]byte(`<a><b/></a>`))
	f.Add([]byte("<a>&#65;&#x42;</a>"))
	f.Fuzz(func(t *testing.T, b []byte) {
		var mine []byte
		s := &scanner{b: b}
		for {
			k, err := s.next()
			if err != nil {
				return
			}
			if k == eof {
				break
			}
			if k == chars {
				if mine, err = appendText(mine, s.text, s.cd); err != nil {
					return
				}
			}
		}
		var std []byte
		d := xml.NewDecoder(bytes.NewReader(b))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				return
			}
			if c, ok := tok.(xml.CharData); ok {
				std = append(std, c...)
			}
		}
		norm := func(b []byte) string {
			return strings.ReplaceAll(strings.ReplaceAll(string(b), "\r\n", "\n"), "\r", "\n")
		}
		if norm(mine) != norm(std) {
			t.Fatalf("%q: %q, the standard library reads %q", b, mine, std)
		}
	})
}

// Whatever the bytes are, opening and reading ends, without a panic.
func FuzzOpen(f *testing.F) {
	f.Add(book(f))
	f.Add(pack(f, [2]string{"[Content_Types].xml", "<Types/>"}))
	f.Fuzz(func(t *testing.T, b []byte) {
		if x, err := open(b); err == nil {
			_, _ = drain(x)
		}
	})
}

// Whatever a sheet holds, reading ends; compressed input would rarely get there.
func FuzzSheet(f *testing.F) {
	f.Add([]byte(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>x</t></is></c><c r="B1"><f>A1</f><v>1</v></c></row></sheetData></worksheet>`))
	f.Fuzz(func(t *testing.T, b []byte) {
		x := pack(t, [2]string{"[Content_Types].xml", "<Types/>"},
			[2]string{"_rels/.rels", `<R><Relationship Type="x/officeDocument" Target="w.xml"/></R>`},
			[2]string{"w.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheet name="S" r:id="1"/></workbook>`},
			[2]string{"_rels/w.xml.rels", `<R><Relationship Id="1" Target="s.xml"/></R>`},
			[2]string{"s.xml", string(b)})
		file, err := open(x)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = drain(file)
	})
}
