package register

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/demo"
	"retrostage/reports/memo"
	"retrostage/reports/workbook"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

var today = time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)

func write(t testing.TB, dir, name string, b []byte) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
}

func init() { memo.Most = 60 } // the same jobs are written and read by one test after the other

// demoBook is the workbook of an invented job, made once for all tests.
func demoBook(t testing.TB, i int) []byte {
	t.Helper()
	books.Lock()
	defer books.Unlock()
	if books.made[i] == nil {
		_, b, err := demo.Workbook(5, i, workbook.Options{})
		if err != nil {
			t.Fatal(err)
		}
		books.made[i] = b
	}
	return bytes.Clone(books.made[i])
}

var books = struct {
	sync.Mutex
	made map[int][]byte
}{made: map[int][]byte{}}

// edited saves a workbook with one typed reading changed, as a spreadsheet
// program would.
func edited(t testing.TB, b []byte) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, d := range f.GetDefinedName() {
		if d.Name == "liquid_temp" {
			cell := strings.ReplaceAll(d.RefersTo[strings.LastIndex(d.RefersTo, "!")+1:], "$", "")
			if err := f.SetCellValue("Readings", "C"+cell[1:], 77.7); err != nil {
				t.Fatal(err)
			}
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// The clerk's trial: jobs in folders within folders (200 in a soak), ten files
// broken in ten ways, some altered, one sent twice. Every one is told apart.
func TestTrial(t *testing.T) {
	t.Parallel()
	n := soak.Count(15, 200)
	dir := t.TempDir()
	want := map[string]workbook.State{}
	for i := range n {
		b := demoBook(t, i)
		name := fmt.Sprintf("2026/%d/job %d.xlsx", i%7, i)
		r, err := workbook.ReadBytes(b)
		if err != nil {
			t.Fatal(err)
		}
		want[name] = r.State
		if i%20 == 3 {
			b = edited(t, b)
			want[name] = workbook.Altered
		}
		write(t, dir, name, b)
	}
	good := demoBook(t, 0)
	write(t, dir, "again/same job.xlsx", good)
	want["again/same job.xlsx"] = want["2026/0/job 0.xlsx"]
	for name, b := range broken(t, good) {
		write(t, dir, "broken/"+name, b)
		want["broken/"+name] = workbook.Damaged
	}
	write(t, dir, "2026/~$job 1.xlsx", []byte("lock"))
	write(t, dir, "2026/letter.txt", []byte("not a workbook"))

	calls := 0
	reg, err := Run(context.Background(), dir, Options{Today: today}, func(p Progress) {
		if calls++; p.Done != calls || p.Total != len(want) {
			t.Errorf("progress %+v at call %d", p, calls)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]workbook.State{}
	for _, r := range reg.Rows {
		got[r.File] = r.State
		if (r.State == workbook.Damaged) != (r.Reason != "") {
			t.Errorf("%s: %s, reason %q", r.File, r.State, r.Reason)
		}
		if r.State == workbook.Altered && !strings.Contains(r.Altered(), "(Liquid line temperature)") {
			t.Errorf("%s: %s", r.File, r.Altered())
		}
		if late := r.Overdue > 0; late != (r.State == workbook.AsExported) {
			t.Errorf("%s of %s: %s, %d days overdue", r.File, r.Visit, r.State, r.Overdue)
		}
		if twice := r.File == "again/same job.xlsx"; twice != (r.Standing == ToDrop) || twice && !r.Folded {
			t.Errorf("%s: %v, %s", r.File, r.Standing, r.Act)
		}
		if !r.Demo && r.State != workbook.Damaged {
			t.Errorf("%s is not marked as a demonstration", r.File)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if len(reg.Other) != 2 || !strings.Contains(reg.Other[0].Reason, ".txt") || !strings.Contains(reg.Other[1].Reason, "has the workbook open") {
		t.Errorf("%q", reg.Other)
	}
	checkTables(t, reg)
}

// broken is one workbook in ten states of ruin.
func broken(t testing.TB, good []byte) map[string][]byte {
	swap := func(name, part, from, to string) (string, []byte) {
		z, err := zip.NewReader(bytes.NewReader(good), int64(len(good)))
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		for _, f := range z.File {
			r, _ := f.Open()
			b, _ := io.ReadAll(r)
			if f.Name == part {
				if b = bytes.ReplaceAll(b, []byte(from), []byte(to)); to == "" && from == "" {
					continue
				}
			}
			o, _ := w.Create(f.Name)
			o.Write(b)
		}
		if part == "xl/vbaProject.bin" {
			o, _ := w.Create(part)
			io.WriteString(o, "x")
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return name, out.Bytes()
	}
	m := map[string][]byte{
		"empty.xlsx":   {},
		"text.xlsx":    []byte("Dear Sir, please find enclosed"),
		"short.xlsx":   good[:len(good)-300],
		"middle.xlsx":  append(append([]byte{}, good[:len(good)/2]...), make([]byte, len(good)/2)...),
		"old.xls":      append([]byte{0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1}, make([]byte, 900)...),
		"another.xlsx": another(t),
	}
	for _, s := range [][4]string{
		{"macros.xlsm", "xl/vbaProject.bin", "", ""},
		{"no workbook.xlsx", "xl/workbook.xml", "", ""},
		{"torn xml.xlsx", "xl/worksheets/sheet3.xml", "</row>", "<row>"},
		{"forged.xlsx", "docProps/custom.xml", "<vt:lpwstr>", "<vt:lpwstr>0"},
	} {
		name, b := swap(s[0], s[1], s[2], s[3])
		m[name] = b
	}
	return m
}

// another is a workbook that is none of ours.
func another(t testing.TB) []byte {
	f := excelize.NewFile()
	defer f.Close()
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func checkTables(t *testing.T, reg *Register) {
	t.Helper()
	var b bytes.Buffer
	if err := reg.WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(lines) != len(reg.Rows)+1 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	total, unread, folded := 0, 0, 0
	for _, r := range reg.Rows {
		if r.Folded {
			folded++
		}
	}
	for _, g := range reg.Summary("failure") {
		unread += g.NotRead
		total += g.Files
		if g.Complete > g.Files || g.Signed > g.Files {
			t.Errorf("%+v", g)
		}
	}
	if total != len(reg.Rows)-folded || unread != 10 {
		t.Errorf("the groups hold %d files, %d not read; the register %d, %d told elsewhere", total, unread, len(reg.Rows), folded)
	}
	var x bytes.Buffer
	if err := reg.WriteXLSX(&x); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&x)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Register")
	if err != nil || len(rows) != len(reg.Rows)-folded+6 {
		t.Errorf("%d rows in the workbook, %v", len(rows), err)
	}
	if rows, err := f.GetRows("Every file"); err != nil || len(rows) != len(reg.Rows)+len(reg.Other)+4 {
		t.Errorf("%d files listed, %v", len(rows), err)
	}
	for _, name := range f.GetSheetList() {
		if l, err := f.GetPageLayout(name); err != nil || name != "All columns" && *l.FitToWidth != 1 {
			t.Errorf("%s is %d pages wide, %v", name, *l.FitToWidth, err)
		}
	}
}

// A run that is cancelled goes on from its journal: nothing is read twice, and
// the table is the one of a single run.
func TestResume(t *testing.T) {
	dir := t.TempDir()
	for i := range 10 {
		write(t, dir, fmt.Sprintf("%02d.xlsx", i), demoBook(t, i))
	}
	o := Options{Today: today, Workers: 2}
	whole, err := Run(context.Background(), dir, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	o.Journal = filepath.Join(t.TempDir(), "journal")
	ctx, cancel := context.WithCancel(context.Background())
	part, err := Run(ctx, dir, o, func(p Progress) {
		if p.Done == 4 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || len(part.Rows) < 4 || len(part.Rows) >= 10 {
		t.Fatalf("%d rows, %v", len(part.Rows), err)
	}
	// What was read is taken from the journal: a word put into it there shows.
	first := part.Rows[0].File
	lines, err := os.ReadFile(o.Journal)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(o.Journal, bytes.ReplaceAll(lines, []byte(`"owner":"`), []byte(`"owner":"kept `)), 0o600); err != nil {
		t.Fatal(err)
	}
	rest, err := Run(context.Background(), dir, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	for i := range rest.Rows {
		if o, ok := strings.CutPrefix(rest.Rows[i].Owner, "kept "); ok {
			rest.Rows[i].Owner = o
			kept++
		}
	}
	if kept < 4 || kept == len(rest.Rows) {
		t.Errorf("%d rows are from the journal", kept)
	}
	if d := cmp.Diff(whole.Rows, rest.Rows, cmp.FilterPath(func(p cmp.Path) bool { return p.String() == "Modified" }, cmp.Ignore())); d != "" {
		t.Error(d)
	}
	// A file changed since is read again.
	write(t, dir, first, []byte("changed"))
	again, err := Run(context.Background(), dir, o, nil)
	if err != nil || !slices.ContainsFunc(again.Rows, func(r Row) bool { return r.File == first && r.State == workbook.Damaged }) {
		t.Errorf("%s was not read again, %v", first, err)
	}
	// A torn last line is left out, a foreign file left alone.
	b, _ := os.ReadFile(o.Journal)
	os.WriteFile(o.Journal, append(b, []byte(`{"file":"ha`)...), 0o600)
	if _, err := Run(context.Background(), dir, o, nil); err != nil {
		t.Error(err)
	}
	os.WriteFile(o.Journal, []byte("my diary\n"), 0o600)
	if _, err := Run(context.Background(), dir, o, nil); err == nil {
		t.Error("a diary was taken for a journal")
	}
	if b, _ := os.ReadFile(o.Journal); string(b) != "my diary\n" {
		t.Error("the diary was written to")
	}
}

// Links are not followed, and a folder that is none is an error.
func TestOddFolders(t *testing.T) {
	dir, away := t.TempDir(), t.TempDir()
	write(t, away, "secret.xlsx", demoBook(t, 1))
	if err := os.Symlink(filepath.Join(away, "secret.xlsx"), filepath.Join(dir, "link.xlsx")); err != nil {
		t.Skip("no links here:", err)
	}
	os.Symlink(dir, filepath.Join(dir, "loop"))
	reg, err := Run(context.Background(), dir, Options{}, nil)
	if err != nil || len(reg.Rows) != 0 || len(reg.Other) != 2 || !strings.HasPrefix(reg.Other[0].Reason, "a link") {
		t.Errorf("%d rows, %v, %v", len(reg.Rows), reg.Other, err)
	}
	var b bytes.Buffer
	if err := reg.WriteXLSX(&b); err != nil {
		t.Error("an empty register:", err)
	}
	// It is known again when it lies in the folder.
	write(t, dir, "register.xlsx", b.Bytes())
	for _, name := range []string{"a.ods", "b.zip", "c.pdf"} {
		write(t, dir, name, []byte("x"))
	}
	reg, err = Run(context.Background(), dir, Options{}, nil)
	if err != nil || len(reg.Rows) != 0 || len(reg.Other) != 6 || !strings.HasPrefix(reg.Other[5].Reason, "an earlier register") {
		t.Errorf("%d rows, %v, %v", len(reg.Rows), reg.Other, err)
	}
	os.Remove(filepath.Join(dir, "register.xlsx"))
	for paper, want := range map[workbook.Paper]int{workbook.Letter: 1, workbook.A4: 9} {
		b.Reset()
		reg.Paper = paper
		if err := reg.WriteXLSX(&b); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range f.GetSheetList() {
			if l, err := f.GetPageLayout(name); err != nil || l.Size == nil || *l.Size != want {
				t.Errorf("%s: paper %v, want %d; %v", name, l.Size, want, err)
			}
		}
	}
	if _, err := Run(context.Background(), filepath.Join(dir, "none"), Options{}, nil); err == nil {
		t.Error("a missing folder was read")
	}
	write(t, dir, "a.xlsx", nil)
	if _, err := Run(context.Background(), filepath.Join(dir, "a.xlsx"), Options{}, nil); err == nil {
		t.Error("a file was taken for a folder")
	}
}

// What RFC 4180, section 2, shows: quoted fields, a doubled quote, a comma and
// a line break inside quotes, CRLF between records. And no cell opens with what
// a spreadsheet program would run.
func TestCSV(t *testing.T) {
	reg := &Register{Rows: []Row{{File: "b\"bb", State: "aaa", Remarks: "b\r\nbb", Owner: "x,y", SignedBy: `=cmd|' /C calc'!A0`, Technician: "-2+3", Reason: "@SUM(1)"}}}
	var b bytes.Buffer
	if err := reg.WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	s := b.String()
	for _, want := range []string{`"b""bb",aaa,`, `,"x,y",`, "\"b\r\nbb\"", ",'=cmd|' /C calc'!A0,", ",'-2+3,", ",'@SUM(1),"} {
		if !strings.Contains(s, want) {
			t.Errorf("no %q in %q", want, s)
		}
	}
	if !strings.HasSuffix(s, "\r\n") || strings.Contains(strings.ReplaceAll(s, "\r\n", ""), "\n") {
		t.Error("records do not end in CRLF")
	}
}

// Whatever a file states, the table can be read back, and no cell of it can be
// run.
func TestCSVAlwaysReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reg := &Register{Rows: []Row{{File: rapid.String().Draw(t, "file"), Owner: rapid.String().Draw(t, "owner"), Remarks: rapid.String().Draw(t, "remarks")}}}
		var b bytes.Buffer
		if err := reg.WriteCSV(&b); err != nil {
			t.Fatal(err)
		}
		lines, err := csv.NewReader(&b).ReadAll()
		if err != nil || len(lines) != 2 || len(lines[1]) != len(columns) {
			t.Fatalf("%v, %d lines", err, len(lines))
		}
		for _, f := range lines[1] {
			if f != "" && strings.ContainsAny(f[:1], "=+-@\t\r") {
				t.Fatalf("%q could be run", f)
			}
		}
	})
}

// A journal of any bytes is refused and left alone, or goes on: what it says it knows
// is what stands in it, and a row added comes back.
func FuzzJournal(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte(journalHead + "\n"))
	f.Add([]byte(journalHead + "\n{\"File\":\"a.xlsx\"}\n{\"File\":"))
	f.Add([]byte(journalHead))
	f.Add([]byte("a diary\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		path := filepath.Join(t.TempDir(), "journal")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		j, known, err := openJournal(path)
		if err != nil {
			if now, _ := os.ReadFile(path); string(now) != string(b) {
				t.Error("what was refused was changed")
			}
			return
		}
		j.add(Row{File: "new.xlsx"})
		if j.close(); j.err != nil {
			t.Fatal(j.err)
		}
		j, again, err := openJournal(path)
		if err != nil {
			t.Fatalf("%q: %v", b, err)
		}
		j.close()
		if _, ok := again["new.xlsx"]; !ok || len(again) < len(known) {
			t.Errorf("%q: %d rows known, then %d", b, len(known), len(again))
		}
	})
}
