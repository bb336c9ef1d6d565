package app

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/assets"
	"retrostage/assets/soak"
	"retrostage/reports/record"
)

// heard is every text that the panes of a few jobs show, and whether the catalogue has it:
// painted at every step with all that opens open, and the words of all fields.
// With them the cautions among them.
func heard(t *testing.T) (said map[string]bool, cautions []string) {
	t.Helper()
	use(t, words.Spanish, words.Comma)
	if once.said != nil {
		return once.said, once.cautions
	}
	said = map[string]bool{}
	catalogue, err := words.Catalogue()
	if err != nil {
		t.Fatal(err)
	}
	spanish := map[string]bool{} // a list's words come back as they were said
	for _, v := range catalogue {
		spanish[v] = true
	}
	words.Heard = func(text string, known bool) {
		if said[text] = known || spanish[text]; strings.HasPrefix(text, "Caution: ") {
			cautions = append(cautions, text)
		}
	}
	open, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	if err := section.AcknowledgeAll(open, "T-17", noon); err != nil {
		t.Fatal(err)
	}
	for k, j := range []*record.Job{open, filled(t), record.New("new")} {
		if k == 1 && !soak.On() {
			continue // the longest to paint, and most of it is in the first
		}
		b, w := bench(t, j)
		for i := range record.Steps {
			b.Go(i)
			for _, s := range visible[*widget.Strip](b.window) {
				s.Tapped(nil)
			}
			for _, n := range visible[*widget.Notice](b.window) {
				n.Tapped(nil)
				if n.Shape == "caution" {
					cautions = append(cautions, n.Lines...)
				}
			}
			for _, r := range b.pane().Rows {
				b.window.aim(r)
			}
			b.window.aim(nil)
			for _, c := range visible[*widget.Choose](b.window) {
				if slices.Contains(c.Options, "Work list") {
					for _, o := range c.Options {
						c.Do(o)
						paint(w)
					}
				}
			}
			w.Canvas().Capture()
			if k == 0 {
				picture(t, w, "es-"+string(record.Steps[i].Step))
			}
		}
		if k > 0 {
			continue
		}
		for n, sheet := range []func(){func() { b.Settings(false) }, func() { b.Settings(true) }, b.About, func() { b.Help("") }, b.chooseJob, b.askPerson,
			b.openQueue, b.openRegister, b.openCountersign, func() { b.Past(record.SuctionPressure) },
			func() { section.AskInstrument(b, "", nil) }} {
			sheet()
			picture(t, w, fmt.Sprintf("es-sheet-%d", n))
			paint(w)
			for _, o := range w.Canvas().Overlays().List() {
				w.Canvas().Overlays().Remove(o)
			}
		}
	}
	for _, f := range record.Fields {
		words.Say(f.Label)
		words.Say(f.Help)
		for _, o := range f.Options {
			words.Say(o)
		}
	}
	words.Heard = nil
	once.said, once.cautions = said, cautions
	return said, cautions
}

// paint paints the window in a soak: of the words said where something opens, two of 3179
// are said only as it is painted, and painting takes most of the time.
func paint(w fyne.Window) {
	if soak.On() {
		w.Canvas().Capture()
	}
}

// once is what was heard: painting all of it takes its time.
var once struct {
	said     map[string]bool
	cautions []string
}

// use sets a language for a test.
func use(t *testing.T, language, mark string) {
	t.Helper()
	if err := words.Use(language, mark); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		words.Heard = nil
		if err := words.Use(words.English, words.Point); err != nil {
			t.Error(err)
		}
	})
}

// What the panes show is in the catalogue but for the names of sources; README gives the
// share. A text that it lacks is shown in English.
func TestShareInSpanish(t *testing.T) {
	said, _ := heard(t)
	var lacks []string
	for text, known := range said {
		if !known {
			lacks = append(lacks, text)
		}
	}
	slices.Sort(lacks)
	share := 100 * float64(len(said)-len(lacks)) / float64(len(said))
	t.Logf("%d texts shown, %d in Spanish: %.1f %%", len(said), len(said)-len(lacks), share)
	if share < 95 {
		t.Errorf("only %.1f %% of what the panes show is in the catalogue, for example %q", share, lacks[:min(5, len(lacks))])
	}
	if dir := os.Getenv("RETROSTAGE_LOOK"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "lacks.txt"), []byte(strings.Join(lacks, "\n\x01\n")), 0o644); err != nil {
			t.Error(err)
		}
	}
}

// No caution is left in English: those of every step, those of the lists in working order,
// and whatever the panes show behind the sign of one.
func TestCautionsInSpanish(t *testing.T) {
	_, cautions := heard(t)
	for _, s := range record.Steps {
		for _, c := range s.Cautions {
			cautions = append(cautions, c.Text)
		}
	}
	if len(cautions) < 40 {
		t.Fatalf("only %d cautions", len(cautions))
	}
	words.Heard = func(text string, known bool) {
		if !known {
			t.Errorf("in English: %q", text)
		}
	}
	for _, c := range cautions {
		words.Say(c)
	}
	words.Heard = nil
	if words.Say("A caution that nobody has translated.") != "A caution that nobody has translated." {
		t.Error("what is not in the catalogue is not shown as it is")
	}
}

// What is fixed is said in Spanish whole: steps, fields, options, verdicts, states.
func TestFixedWordsInSpanish(t *testing.T) {
	use(t, words.Spanish, words.Point)
	words.Heard = func(text string, known bool) {
		if !known {
			t.Errorf("in English: %q", text)
		}
	}
	for _, s := range record.Steps {
		words.Say(s.Title)
		words.Say(s.Purpose)
	}
	for _, f := range record.Fields {
		words.Say(f.Label)
		words.Say(f.Group)
		words.Say(f.Help)
		for _, o := range f.Options {
			words.Say(o)
		}
	}
	for v := widget.NotMeasured; v <= widget.NotJudged; v++ {
		words.Say(v.Word())
	}
	for s := widget.Open; s <= widget.DoneReserved; s++ {
		words.Say(s.Word())
	}
	for _, p := range helpPages {
		words.Say(p.title)
	}
}

// Each page of help has its Spanish one, with the same parts and points.
func TestHelpInSpanish(t *testing.T) {
	list, err := assets.FS.ReadDir("help")
	if err != nil {
		t.Fatal(err)
	}
	shape := func(text string) (n [4]int) {
		for _, l := range strings.Split(text, "\n") {
			for i, mark := range []string{"# ", "## ", "- ", "1. "} {
				if strings.HasPrefix(l, mark) {
					n[i]++
				}
			}
		}
		return n
	}
	for _, e := range list {
		name := strings.TrimSuffix(e.Name(), ".md")
		english, err := helpText(name)
		if err != nil {
			t.Fatal(err)
		}
		use(t, words.Spanish, words.Point)
		spanish, err := helpText(name)
		if err != nil || spanish == english || shape(spanish) != shape(english) {
			t.Errorf("%s: %v; parts %v, in Spanish %v", name, err, shape(english), shape(spanish))
		}
		use(t, words.English, words.Point)
	}
}

// Another language changes nothing of what is kept: a number typed with a comma, an option
// touched under its Spanish word, the workbook.
func TestRecordStaysInEnglish(t *testing.T) {
	b, _ := bench(t, filled(t))
	use(t, words.Spanish, words.Comma)
	b.SetLanguage(words.Spanish, words.Comma)
	b.Go(8)
	r := find(t, b, record.SuctionPressure)
	if got := r.Text(); got != "121" {
		t.Errorf("shown %q", got)
	}
	r.Focus()
	r.Wipe()
	for _, c := range "118,5" {
		r.Type(c)
	}
	b.Leave()
	if got := b.job.Text(record.SuctionPressure); got != "118.5" {
		t.Errorf("kept %q", got)
	}
	if got := find(t, b, record.SuctionPressure).Text(); got != "118,5" {
		t.Errorf("shown %q", got)
	}
	before := len(b.job.Entries)
	b.SetLanguage(words.Spanish, words.Comma)
	b.Leave()
	if len(b.job.Entries) != before {
		t.Error("a language made an entry")
	}
	b.Go(0)
	row := find(t, b, record.Warranty)
	if got := b.job.Text(record.Warranty); got != "out of warranty" || row.Text() != got {
		t.Errorf("%q kept, %q on the row", got, row.Text())
	}
}
