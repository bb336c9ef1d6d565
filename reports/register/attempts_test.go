package register

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// Twenty-eight ways to get "file it" said of what nobody whom the office lists decided
// on, or of what shows something else than is read: none does. Beside each in
// testdata/attempts/paper.md stands what came of it before.
func TestAttempts(t *testing.T) {
	if testing.Short() {
		t.Skip("writes every workbook again")
	}
	t.Parallel()
	k := newKit(t)
	attempts := []try{
		// The file.
		{"a word in two parts of a cell, of which a program shows one", k.part(`sheet4`, `t="inlineStr"><is><t>not judged</t></is>`, `t="str"><is><t>not </t></is><v>judged</v>`), nil},
		{"a cell with two values", k.part(`sheet4`, `t="inlineStr"><is><t>not judged</t></is>`, `t="str"><v>not </v><v>judged</v>`), nil},
		{"a name in white parts", k.signer("B", `t="inlineStr"><is><r><rPr><color rgb="FFFFFFFF"/></rPr><t>S. Pervisor</t></r></is>`), nil},
		{"a name in the white of the theme", k.styled(`<color theme="0"/><name val="Arial"/><sz val="11"/>`, ""), nil},
		{"a name nearly of the colour of its box", k.styled(`<color rgb="FFFDF6D9"/><name val="Arial"/><sz val="11"/>`, ""), nil},
		{"a name of one point", k.styled(`<color rgb="FF000000"/><name val="Arial"/><sz val="1"/>`, ""), nil},
		{"a name struck out", k.styled(`<strike/><color rgb="FF000000"/><name val="Arial"/><sz val="11"/>`, ""), nil},
		{"a name in a font of signs", k.styled(`<color rgb="FF000000"/><name val="Wingdings"/><sz val="11"/>`, ""), nil},
		{"a name turned out of its box", k.styled(`<color rgb="FF000000"/><name val="Arial"/><sz val="11"/>`, `<alignment indent="200"/>`), nil},
		{"a name hidden by the last part of its format", k.format(`General;General;General;`), nil},
		{"a name white by its format", k.format(`[White]@`), nil},
		{"a date that its format spells", k.format(`\2\0\2\7\-\0\1\-\0\1`), nil},
		{"a verdict in a font of signs", k.rewrite(func(name, data string) string {
			if name == "xl/styles.xml" {
				return strings.ReplaceAll(data, `<name val="Arial">`, `<name val="Webdings">`)
			}
			return data
		}), nil},
		{"a second table of texts", k.rewrite(func(name, data string) string {
			if name == "xl/_rels/workbook.xml.rels" {
				return strings.Replace(data, `<Relationship `, `<Relationship Id="rId901" Target="other.xml" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"/><Relationship Id="rId903" Target="sharedStrings.xml" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"/><Relationship `, 1)
			}
			return data
		}), nil},
		{"a second table of styles", k.rewrite(func(name, data string) string {
			if name == "xl/_rels/workbook.xml.rels" {
				return strings.Replace(data, `<Relationship `, `<Relationship Id="rId902" Target="other.xml" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles"/><Relationship `, 1)
			}
			return data
		}), nil},
		{"cells in a row that is not theirs", k.part(`sheet4`, `<row r="7"`, `<row r="9"`), nil},
		{"a box drawn the old way", k.rewrite(func(name, data string) string {
			switch name {
			case "xl/worksheets/sheet2.xml":
				return strings.Replace(data, `</worksheet>`, `<legacyDrawing r:id="rId777" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"/></worksheet>`, 1)
			case "xl/worksheets/_rels/sheet3.xml.rels":
				k.add["xl/worksheets/_rels/sheet2.xml.rels"] = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId777" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/vmlDrawing" Target="../drawings/vmlDrawing9.vml"/></Relationships>`
				k.add["xl/drawings/vmlDrawing9.vml"] = `<xml xmlns:v="urn:schemas-microsoft-com:vml"><v:shape type="#_x0000_t202"><v:textbox>NOTHING STANDS AGAINST IT</v:textbox></v:shape></xml>`
			}
			return data
		}), nil},
		// Who signed.
		{"the owner of the tablet's key signs, named otherwise in the record", k.sign("Jo Smith", nil), func(p *Policy) {
			p.Keys[0].Who, p.Supervisors = "Jo Smith", append(p.Supervisors, "Jo Smith")
		}},
		{"a technician on the list of supervisors, his reference taken out", k.sign("Jo Smith", func(j *record.Job) {
			k.set(j, record.TechnicianRef, "x")
			k.set(j, record.SignedBy, "Jo Smith")
		}), func(p *Policy) { p.Supervisors = append(p.Supervisors, "Jo Smith") }},
		{"the technician countersigns with a key of his own, under another's name", k.countersigned("S. Pervisor"), func(p *Policy) { p.Countersign[0].Who = k.job.Text(record.TechnicianRef) }},
		{"the owner of the tablet's key countersigns with a second one", k.countersigned("S. Pervisor"), func(p *Policy) { p.Countersign[0].Who = p.Keys[0].Who }},
		// When.
		{"exported before its visit, when the key was in force", k.write(workbook.Options{Time: k.at(-40)}, nil), func(p *Policy) { p.Keys[0].Until = k.at(-30).Format(time.DateOnly) }},
		{"exported on a day that has not come", k.write(workbook.Options{Time: today.AddDate(1, 0, 0)}, nil), nil},
		{"signed before it was exported", k.write(workbook.Options{Time: k.at(20)}, nil), nil},
		{"the key revoked, written another way", k.write(workbook.Options{}, nil), func(p *Policy) {
			p.Keys = append(p.Keys, PolicyKey{Key: k.otherwise(p.Keys[0].Key), Who: "tablet 1", Revoked: "2026-01-02"})
		}},
		// Files beside each other.
		{"returned, the returned copy made unreadable as altered", k.returned, nil},
		{"an older signed export counted as the newer", k.recounted, nil},
		{"one compressor in two jobs, its number written otherwise", k.twice, nil},
	}
	k.none(t, attempts)
}

// try is one way to have a workbook filed; spoil changes the office's policy first.
type try struct {
	name  string
	files func() map[string][]byte
	spoil func(p *Policy)
}

// none fails for each of the ways that is told to be filed, where the honest one is.
func (k *kit) none(t *testing.T, attempts []try) {
	t.Helper()
	good := k.run(k.write(workbook.Options{}, nil)(), nil)
	if len(good) != 1 || !strings.HasPrefix(good[0].Act, "file it") {
		t.Fatalf("the honest one: %+v", good)
	}
	t.Logf("the honest one: %s", good[0].Act)
	for _, a := range attempts {
		t.Run(a.name, func(t *testing.T) {
			k.t = t
			p := k.policy()
			if a.spoil != nil {
				a.spoil(p)
			}
			for _, r := range k.attempt(a.files(), p) {
				if strings.HasPrefix(r.Act, "file it") {
					t.Errorf("%s: %s", r.File, r.Act)
				} else {
					t.Logf("%s: %s %s %s", r.File, r.Act, r.Reason, r.Altered())
				}
			}
		})
	}
}

// kit makes the files that an attacker has: a complete job, the tablet's key, what a
// supervisor signed.
type kit struct {
	t             testing.TB
	job           *record.Job
	tablet, chief ed25519.PrivateKey
	good          []byte
	add           map[string]string // parts to be added by rewrite
	strict        bool              // every step is to be done
	cell          *regexp.Regexp    // the signer's cell that is painted; nil for the name's
}

func newKit(t testing.TB) *kit {
	k := &kit{t: t, tablet: ed25519.NewKeyFromSeed(bytes.Repeat([]byte{3}, 32)), chief: ed25519.NewKeyFromSeed(bytes.Repeat([]byte{4}, 32))}
	for i := range 6 {
		j, _, err := demo.Job(5, i)
		if err != nil {
			t.Fatal(err)
		}
		k.job = j
		k.good = k.make(workbook.Options{}, nil)
		rs := k.run(map[string][]byte{"a.xlsx": k.good}, nil)
		if strings.HasPrefix(rs[0].Act, "file it") {
			return k
		}
		if i == 5 {
			t.Fatalf("no invented job is complete: %s %s %s", rs[0].Act, rs[0].lacks(), rs[0].Altered())
		}
	}
	return nil
}

// at is days after the visit, at noon.
func (k *kit) at(days int) time.Time {
	v, err := time.Parse(time.DateOnly, k.job.Text(record.VisitDate))
	if err != nil {
		k.t.Fatal(err)
	}
	return v.AddDate(0, 0, days).Add(12 * time.Hour)
}

func (k *kit) policy() *Policy {
	id := func(key ed25519.PrivateKey) string { return workbook.KeyID(key.Public().(ed25519.PublicKey)) }
	return &Policy{Keys: []PolicyKey{{Key: id(k.tablet), Who: "tablet 1"}}, Supervisors: []string{"S. Pervisor"},
		Countersign: []PolicyKey{{Key: id(k.chief), Who: "S. Pervisor"}}, StepsDone: k.strict}
}

func (k *kit) run(files map[string][]byte, p *Policy) []Row { return k.read(files, p, true) }

func (k *kit) read(files map[string][]byte, p *Policy, rebuild bool) []Row {
	if p == nil {
		p = k.policy()
	}
	b, err := json.Marshal(p)
	if err != nil {
		k.t.Fatal(err)
	}
	if p, err = ParsePolicy(b); err != nil {
		k.t.Fatal(err)
	}
	dir := k.t.TempDir()
	for name, b := range files {
		write(k.t, dir, name, b)
	}
	reg, err := Run(context.Background(), dir, Options{Today: today, Rebuild: rebuild, Policy: p}, nil)
	if err != nil {
		k.t.Fatal(err)
	}
	return reg.Rows
}

// attempt is run, which in the usual run writes nothing again where a reading without
// that tells every file already: altered, damaged, not signed in full, or with steps not
// done where all are asked for. That it was not written again is not among them, which
// alone would keep any file from being filed; such a file is always written again.
func (k *kit) attempt(files map[string][]byte, p *Policy) []Row {
	if !soak.On() {
		rows := k.read(files, p, false)
		if !slices.ContainsFunc(rows, func(r Row) bool {
			return strings.HasPrefix(r.Act, "file it") || r.State == workbook.Signed && (!k.strict || r.Undone == "")
		}) {
			return rows
		}
	}
	return k.run(files, p)
}

func (k *kit) set(j *record.Job, key record.Key, value string) {
	last := j.Entries[len(j.Entries)-1]
	if err := j.Set(record.Entry{Key: key, Value: value, Time: last.Time.Add(time.Minute), By: last.By}); err != nil {
		k.t.Fatal(err)
	}
}

// make exports the job, changed, signed by the supervisor two days after the visit.
func (k *kit) make(o workbook.Options, change func(j *record.Job)) []byte {
	b, err := k.job.Encode()
	if err != nil {
		k.t.Fatal(err)
	}
	j, err := record.Decode(b)
	if err != nil {
		k.t.Fatal(err)
	}
	if change != nil {
		change(j)
	}
	if o.Time.IsZero() {
		o.Time = k.at(1)
	}
	o.Key = k.tablet
	if o.Sign == (workbook.Signature{}) {
		o.Sign = workbook.Signature{Name: "S. Pervisor", Date: k.at(2).Format(time.DateOnly), Decision: "accept"}
	}
	var out bytes.Buffer
	if err := workbook.Write(&out, assess.New(j), o); err != nil {
		k.t.Fatal(err)
	}
	return out.Bytes()
}

func (k *kit) write(o workbook.Options, change func(j *record.Job)) func() map[string][]byte {
	return func() map[string][]byte { return map[string][]byte{"a.xlsx": k.make(o, change)} }
}

func (k *kit) sign(name string, change func(j *record.Job)) func() map[string][]byte {
	return k.write(workbook.Options{Sign: workbook.Signature{Name: name, Date: k.at(2).Format(time.DateOnly), Decision: "accept"}}, change)
}

// rewrite changes parts of the signed workbook; a change that changes nothing fails.
func (k *kit) rewrite(change func(name, data string) string) func() map[string][]byte {
	return func() map[string][]byte {
		z, err := zip.NewReader(bytes.NewReader(k.good), int64(len(k.good)))
		if err != nil {
			k.t.Fatal(err)
		}
		k.add = map[string]string{}
		parts := map[string]string{}
		changed := false
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				k.t.Fatal(err)
			}
			b, err := io.ReadAll(r)
			if err != nil {
				k.t.Fatal(err)
			}
			parts[f.Name] = change(f.Name, string(b))
			changed = changed || parts[f.Name] != string(b)
		}
		if !changed {
			k.t.Error("nothing was changed")
		}
		parts["xl/other.xml"] = parts["xl/styles.xml"] // for relationships that name it
		maps.Copy(parts, k.add)
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		for name, data := range parts {
			o, err := w.Create(name)
			if err != nil {
				k.t.Fatal(err)
			}
			io.WriteString(o, data)
		}
		if err := w.Close(); err != nil {
			k.t.Fatal(err)
		}
		return map[string][]byte{"a.xlsx": out.Bytes()}
	}
}

// part changes the first place in a sheet's part that fits.
func (k *kit) part(sheet, old, now string) func() map[string][]byte {
	re := regexp.MustCompile(old)
	return k.rewrite(func(name, data string) string {
		if at := re.FindStringSubmatchIndex(data); name == "xl/worksheets/"+sheet+".xml" && at != nil {
			return data[:at[0]] + string(re.ExpandString(nil, now, data, at)) + data[at[1]:]
		}
		return data
	})
}

func (k *kit) signers() *regexp.Regexp {
	if k.cell != nil {
		return k.cell
	}
	return nameCell
}

// nameCell is the cell of the supervisor's name as it is written.
var nameCell = regexp.MustCompile(`<c r="[A-Z]+\d+" s="\d+" t="[a-zA-Z]+">(<is><t[^>]*>|<v>)S\. Pervisor(</t></is>|</v>)</c>`)

// signer puts something else into the cell of the name.
func (k *kit) signer(_, inner string) func() map[string][]byte {
	return k.rewrite(func(name, data string) string {
		return k.signers().ReplaceAllStringFunc(data, func(s string) string {
			return regexp.MustCompile(`t="[a-zA-Z]+">.*</c>`).ReplaceAllString(s, inner+`</c>`)
		})
	})
}

// styled gives the cell of the name a style of its own: a font, and what stands in it.
func (k *kit) styled(font, inside string) func() map[string][]byte { return k.look(font, inside, "") }

// format gives it a number format of its own.
func (k *kit) format(code string) func() map[string][]byte {
	return k.look(`<color rgb="FF000000"/><name val="Arial"/><sz val="11"/>`, "", code)
}

func (k *kit) look(font, inside, code string) func() map[string][]byte {
	count := func(data, list string) (n string) {
		m := regexp.MustCompile(`<` + list + ` count="(\d+)"`).FindStringSubmatch(data)
		if m == nil {
			k.t.Fatal("no list of " + list)
		}
		return m[1]
	}
	var xf string
	for _, f := range zipped(k.t, k.good) {
		if f.name == "xl/styles.xml" {
			xf = count(f.data, "cellXfs")
		}
	}
	return k.rewrite(func(name, data string) string {
		if name == "xl/styles.xml" {
			fontID := count(data, "fonts")
			format := "0"
			if code != "" {
				format = "199"
				data = regexp.MustCompile(`<numFmts[^>]*>`).ReplaceAllStringFunc(data, func(s string) string {
					return s + `<numFmt numFmtId="199" formatCode="` + code + `"/>`
				})
			}
			data = strings.Replace(data, `</fonts>`, `<font>`+font+`</font></fonts>`, 1)
			return strings.Replace(data, `</cellXfs>`, `<xf numFmtId="`+format+`" fontId="`+fontID+`" fillId="0" borderId="0" xfId="0" applyFont="1">`+inside+`</xf></cellXfs>`, 1)
		}
		return k.signers().ReplaceAllStringFunc(data, func(s string) string {
			return regexp.MustCompile(`s="\d+"`).ReplaceAllString(s, `s="`+xf+`"`)
		})
	})
}

type part struct{ name, data string }

func zipped(t testing.TB, b []byte) (out []part) {
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, part{f.Name, string(data)})
	}
	return out
}

func (k *kit) countersigned(name string) func() map[string][]byte {
	return func() map[string][]byte {
		plain := k.make(workbook.Options{Sign: workbook.Signature{Remarks: " "}}, nil)
		var out bytes.Buffer
		if err := workbook.Countersign(context.Background(), &out, plain, k.chief, name, "accept", "", k.at(2)); err != nil {
			k.t.Fatal(err)
		}
		return map[string][]byte{"a.xlsx": out.Bytes()}
	}
}

// otherwise writes a key with other bits behind its end, which are of no meaning.
func (k *kit) otherwise(id string) string {
	const digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
	at := len(id) - 2 // before the equals sign
	return id[:at] + string(digits[strings.IndexByte(digits, id[at])|1]) + id[at+1:]
}

// returned is a job that the supervisor returned; the technician spoils that copy and
// types the supervisor's name into another.
func (k *kit) returned() map[string][]byte {
	b := k.make(workbook.Options{Sign: workbook.Signature{Name: "S. Pervisor", Date: k.at(2).Format(time.DateOnly), Decision: "return", Remarks: "no"}}, nil)
	return map[string][]byte{"a.xlsx": k.good, "b.xlsx": edited(k.t, b)}
}

// recounted is an export that corrects a signed one, made by a tablet of which the
// count was put back.
func (k *kit) recounted() map[string][]byte {
	return map[string][]byte{
		"a.xlsx": k.make(workbook.Options{Count: 4}, nil),
		"b.xlsx": k.make(workbook.Options{Count: 1, Time: k.at(2), Sign: workbook.Signature{Remarks: " "}}, func(j *record.Job) { k.set(j, record.WorkDone, "The compressor was not changed after all.") }),
	}
}

// twice is one compressor in two jobs.
func (k *kit) twice() map[string][]byte {
	number := k.job.Text(record.NewCompressorSerial)
	return map[string][]byte{"a.xlsx": k.good, "b.xlsx": k.make(workbook.Options{}, func(j *record.Job) {
		j.ID += "-2"
		k.set(j, record.OldCompressorSerial, "another")
		k.set(j, record.NewCompressorSerial, strings.ReplaceAll(strings.ReplaceAll(number, "-", "\u2011"), "0", "O"))
	})}
}

// A journal that somebody wrote, or one that lies where others write, is not believed.
func TestJournalIsNotBelieved(t *testing.T) {
	dir := t.TempDir()
	b := demoBook(t, 0)
	write(t, dir, "a.xlsx", b)
	journal := filepath.Join(t.TempDir(), "journal")
	first, err := Run(context.Background(), dir, Options{Today: today, Journal: journal}, nil)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(dir, "a.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	spoiled := bytes.Clone(b)
	spoiled[len(spoiled)/2] ^= 1
	write(t, dir, "a.xlsx", spoiled)
	if err := os.Chtimes(filepath.Join(dir, "a.xlsx"), info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	again, err := Run(context.Background(), dir, Options{Today: today, Journal: journal}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if again.Rows[0].State != workbook.Damaged || first.Rows[0].State == workbook.Damaged {
		t.Errorf("%s, then %s: another file of the same length and time was taken for the one read", first.Rows[0].State, again.Rows[0].State)
	}
	if _, err := Run(context.Background(), dir, Options{Today: today, Journal: filepath.Join(dir, "journal")}, nil); err == nil {
		t.Error("a journal in the folder that is read was taken")
	}
}
