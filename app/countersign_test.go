package app

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/owner"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// A supervisor sees the one page, decides, and the file beside it is told as
// countersigned by him. Nothing is signed that was not shown, is no longer what was
// shown, lacks its decision, is signed already, or was exported by the same key.
func TestCountersignInTheWindow(t *testing.T) {
	j := filled(t)
	b, _ := bench(t, j)
	dir := t.TempDir()
	tablet, err := workbook.TabletKey(filepath.Join(dir, "tablet.pem"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "job.xlsx")
	export := func(o workbook.Options) []byte {
		var w bytes.Buffer
		o.Time, o.Key = noon, tablet
		if err := workbook.Write(&w, assess.New(j), o); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, w.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return w.Bytes()
	}
	export(workbook.Options{})
	to := filepath.Join(dir, "job-countersigned.xlsx")
	none := func(when string) {
		t.Helper()
		if _, err := os.Stat(to); err == nil {
			t.Fatalf("%s: something was signed", when)
		}
	}
	c := b.newCountersign()
	c.write()
	none("nothing shown")
	c.from.SetText(path)
	c.show()
	if !strings.Contains(c.Said.Text, "as exported") || !c.sign.Visible() {
		t.Fatalf("%q", c.Said.Text)
	}
	page := ""
	for _, w := range visible[*widget.Words](c.page) {
		page += w.Text + "\n"
	}
	for _, want := range []string{"Hand-over", j.Text(record.OwnerRef), "What stands against it"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q:\n%s", want, page)
		}
	}
	c.write()
	none("no decision")
	c.name.SetText("S. Pervisor")
	c.decision.Chosen = workbook.Return
	c.key.SetText(filepath.Join(dir, "tablet.pem"))
	c.remarks.SetText("")
	c.write()
	if none("returned without remarks"); !strings.Contains(c.Said.Text, "Not signed") {
		t.Errorf("%q", c.Said.Text)
	}
	c.remarks.SetText("change the breaker")
	c.write()
	if none("by the tablet's own key"); !strings.Contains(c.Said.Text, "this key exported") {
		t.Errorf("%q", c.Said.Text)
	}
	c.key.SetText(filepath.Join(dir, "supervisor.pem"))
	c.from.SetText(path + "x") // another file is named: the page goes, and with it what can be signed
	c.write()
	none("another file named")
	c.from.SetText(path)
	c.show()
	shown := c.shown
	if err := os.WriteFile(path, []byte("something else by now"), 0o644); err != nil { // what was shown is what is signed
		t.Fatal(err)
	}
	c.write()
	signed, err := os.ReadFile(to)
	if err != nil {
		t.Fatalf("%v; %q", err, c.Said.Text)
	}
	r, err := workbook.Verify(context.Background(), signed)
	if err != nil || r.State != workbook.Signed || r.Countersigned == nil || r.Countersigned.Name != "S. Pervisor" || r.Countersigned.Decision != workbook.Return || r.Countersigned.Remarks != "change the breaker" {
		t.Fatalf("%v %s %+v", err, r.State, r.Countersigned)
	}
	if o, err := workbook.ReadBytes(shown); err != nil || o.Digest != r.Digest {
		t.Error("another record was signed than was shown")
	}
	if !strings.HasPrefix(c.Said.Text, "Countersigned by S. Pervisor, return") || c.sign.Visible() {
		t.Errorf("%q", c.Said.Text)
	}
	// Again: the file is there, and one that is signed is not signed over.
	export(workbook.Options{})
	c.show()
	c.write()
	if !strings.Contains(c.Said.Text, "there already") {
		t.Errorf("%q", c.Said.Text)
	}
	c.from.SetText(to)
	c.show()
	if c.sign.Visible() || !strings.Contains(c.Said.Text, "only a workbook as exported") {
		t.Errorf("signed over: %q", c.Said.Text)
	}
	for _, bad := range []string{dir, filepath.Join(dir, "none.xlsx"), filepath.Join(dir, "supervisor.pem")} {
		c.from.SetText(bad)
		if c.show(); c.sign.Visible() || !strings.HasPrefix(c.Said.Text, "Not shown") {
			t.Errorf("%s: %q", bad, c.Said.Text)
		}
	}
}

// Whom the owner calls is set beside the person, and stands on the owner's page that
// the window writes.
func TestWhomTheOwnerCallsIsASetting(t *testing.T) {
	j, err := record.Demo() // of one with much left open the page says that it does not fit
	if err != nil {
		t.Fatal(err)
	}
	b, w := bench(t, j)
	b.canvas = w.Canvas
	b.askPerson()
	pop := w.Canvas().Overlays().Top()
	entries := visible[*widget.TextEntry](pop)
	if len(entries) != 2 {
		t.Fatalf("%d entries", len(entries))
	}
	entries[0].SetText("T-17")
	entries[1].SetText("two\nlines")
	test.Tap(tap(pop, "Done"))
	if s, err := owner.Calls(b.keep.dir); s != "" || err != nil || !pop.Visible() {
		t.Errorf("two lines were kept: %q %v", s, err)
	}
	entries[1].SetText("The office, 555 0100")
	test.Tap(tap(pop, "Done"))
	if s, err := owner.Calls(b.keep.dir); s != "The office, 555 0100" || err != nil {
		t.Errorf("%q %v", s, err)
	}
	if b.person != "T-17" {
		t.Errorf("person %q", b.person)
	}
	b.Go(stepIndex(record.HandOver))
	test.Tap(tap(b.pane().Side, "Write the owner's page"))
	var path, all string
	for _, w := range visible[*widget.Words](b.pane().Side) {
		all += w.Text + "\n"
		if p, ok := strings.CutPrefix(w.Text, "Written: "); ok {
			path = p
		}
	}
	if path == "" {
		t.Fatal(all)
	}
	raw, err := os.ReadFile(path)
	if err != nil || !bytes.HasPrefix(raw, []byte("%PDF")) {
		t.Fatalf("%q: %v", path, err)
	}
}
