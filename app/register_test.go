package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// The clerk reads a folder with a good and a damaged workbook, sees the damaged
// one first, and writes the table.
func TestRegisterListsWhatNeedsAHandFirst(t *testing.T) {
	j := filled(t)
	b, _ := bench(t, j)
	dir := b.keep.dir
	f, err := os.Create(filepath.Join(dir, "a-good.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	if err := workbook.Write(f, assess.New(j), workbook.Options{Time: noon}); err != nil {
		t.Fatal(err)
	}
	f.Close()
	if err := os.WriteFile(filepath.Join(dir, "b-damaged.xlsx"), []byte("no spreadsheet"), 0o644); err != nil {
		t.Fatal(err)
	}
	c := b.newRegister()
	c.run()
	if !strings.HasPrefix(c.Said.Text, "2 files") || !strings.Contains(c.Said.Text, "1 not from this program or not whole") {
		t.Fatalf("said %q", c.Said.Text)
	}
	got := strings.Split(wordsIn(c.table), "\n")
	if len(got) != 2 || !strings.HasPrefix(got[0], "b-damaged.xlsx|") || !strings.HasPrefix(got[1], "a-good.xlsx|"+j.Text(record.OwnerRef)) {
		t.Errorf("listed %q", got)
	}
	c.to.SetText(filepath.Join(dir, "register.pdf"))
	c.save()
	if !strings.Contains(c.Said.Text, "Not written") {
		t.Errorf("said %q", c.Said.Text)
	}
	to := filepath.Join(t.TempDir(), "register.csv")
	c.to.SetText(to)
	c.save()
	if csv, err := os.ReadFile(to); err != nil || strings.Count(string(csv), "\r\n") != 3 || c.Said.Text != "Written: "+to {
		t.Errorf("%v, said %q, table %q", err, c.Said.Text, csv)
	}
	c.from.SetText(filepath.Join(dir, "none"))
	c.run()
	if !strings.HasPrefix(c.Said.Text, "Not read") {
		t.Errorf("a folder that is not there: %q", c.Said.Text)
	}
}
