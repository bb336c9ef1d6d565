package workbook

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// worstBook is a job of which every finding is outside and every text as long as it
// may be.
func worstBook(t *testing.T, o Options) *book {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	long := strings.TrimSpace(strings.Repeat("the unit was found with its coil matted and its wiring chafed through behind the board ", 40))
	for _, k := range []record.Key{record.OldUnitModel, record.OldUnitSerial, record.OldCompressorModel, record.NewCompressorModel, record.RootCause,
		record.WorkDone, record.OpenConditions, record.OwnerAdvice, record.OwnerRef} {
		if err := j.Set(record.Entry{Key: k, Value: long, Time: j.Entries[len(j.Entries)-1].Time, By: "T-07"}); err != nil {
			t.Logf("%v: %v", k, err)
		}
	}
	a := assess.New(j)
	rep, err := a.Report()
	if err != nil {
		t.Fatal(err)
	}
	worst := *rep
	worst.Findings, worst.Against = nil, nil
	for _, f := range rep.Findings {
		f.Verdict, f.Measured, f.Next = assess.Outside, true, long
		worst.Findings = append(worst.Findings, f)
		worst.Against = append(worst.Against, assess.Matter{Stand: assess.IsOutside, Step: f.Step, Key: f.Key, Label: f.Label, Why: long})
	}
	canonical, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	o.complete(j)
	b := newBook(a, &worst, o, canonical)
	t.Cleanup(func() { b.file.Close() })
	if _, err := b.open(canonical); err != nil {
		t.Fatal(err)
	}
	return b
}

// The first page is one page, the worst eight on it and the signature block within a
// laptop's first screen, whatever the job.
func TestFirstPageIsOne(t *testing.T) {
	t.Parallel()
	for _, paper := range []Paper{Letter, A4} {
		b := worstBook(t, Options{Paper: paper})
		p := b.pages[0]
		high, screen := 0.0, 0.0
		for r := range p.rows {
			high += p.height(r + 1)
			if r < 28 {
				screen += p.height(r + 1)
			}
		}
		if room := b.room(p); high > room {
			t.Errorf("paper %d: %.0f points high, the page takes %.0f", paper, high, room)
		}
		for name, at := range b.names {
			if !strings.HasPrefix(name, "sign_") {
				continue
			}
			at = strings.NewReplacer("$", "", "'Hand-over'!", "").Replace(at)
			if n := len(at); n < 2 || at[0] > 'J' || n > 3 || n == 3 && at[1:] > "28" {
				t.Errorf("%s stands at %s, not in the first 28 rows and 10 columns", name, at)
			}
		}
		told, all := 0, ""
		for _, row := range p.rows {
			for _, c := range row {
				if c.look.kind == verdict && c.value == string(assess.Outside) {
					told++
				}
				if s, ok := c.value.(string); ok {
					all += s + "\n"
				}
			}
		}
		if told != worst || !strings.Contains(all, "continued on page 2") {
			t.Errorf("paper %d: %d told, continued: %v", paper, told, strings.Contains(all, "continued on page 2"))
		}
		// What was cut and the rest stand in full behind it.
		next := ""
		for _, row := range b.pages[1].rows {
			for _, c := range row {
				if s, ok := c.value.(string); ok {
					next += s + "\n"
				}
			}
		}
		for _, f := range b.rep.Findings[worst:] {
			if !strings.Contains(next, f.Label) {
				t.Errorf("%s is not told", f.Key)
			}
		}
	}
}

// Printed by a spreadsheet program it is one page, too.
func TestFirstPagePrinted(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("starts a spreadsheet program")
	}
	for _, tool := range []string{"soffice", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " is not installed: nothing was printed")
		}
	}
	dir := t.TempDir()
	if keep := os.Getenv("KEEP_PRINTED"); keep != "" {
		dir = keep
	}
	b := worstBook(t, Options{})
	if err := b.file.SaveAs(filepath.Join(dir, "worst.xlsx")); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 3*time.Minute)
	defer stop()
	c := exec.CommandContext(ctx, "soffice", "--headless", "-env:UserInstallation=file://"+filepath.Join(t.TempDir(), "profile"), "--convert-to", "pdf", "--outdir", dir, filepath.Join(dir, "worst.xlsx"))
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	out, err := exec.CommandContext(ctx, "pdftotext", "-layout", filepath.Join(dir, "worst.pdf"), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(string(out), "\f")
	if len(pages) < 2 || !strings.Contains(pages[0], "Supervisor signs here") || !strings.Contains(pages[0], "SHA-256 of the record") || !strings.Contains(pages[1], "Continued from the first page") {
		t.Errorf("the first page is not one: %.300s", pages[0])
	}
}
