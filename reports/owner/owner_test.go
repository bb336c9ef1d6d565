package owner

import (
	"bytes"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/version"
)

func demo(t *testing.T) (*record.Job, *assess.Report) {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	rep, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	return j, rep
}

func TestPagesEachPaper(t *testing.T) {
	j, rep := demo(t)
	for _, paper := range []string{"Letter", "A4"} {
		var a, b bytes.Buffer
		if err := Write(&a, j, rep, paper, ""); err != nil {
			t.Fatal(err)
		}
		if err := Write(&b, j, rep, paper, ""); err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); !bytes.HasPrefix(a.Bytes(), []byte("%PDF-")) || n < 1 || n > 2 {
			t.Errorf("%s: %d pages of PDF", paper, n)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: the same job gave other bytes", paper)
		}
	}
	if err := Write(&bytes.Buffer{}, j, rep, "napkin", ""); err == nil {
		t.Error("a napkin was accepted")
	}
}

// The page names the version that wrote it, as another program reads it.
func TestNamesItsVersion(t *testing.T) {
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed")
	}
	j, rep := demo(t)
	var b bytes.Buffer
	if err := Write(&b, j, rep, "Letter", ""); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tool, "-", "-")
	cmd.Stdin = &b
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	if want := "Written by " + version.String() + "."; !strings.Contains(string(text), want) {
		t.Errorf("%q is missing in\n%s", want, text)
	}
}

func TestSaysWhatIsOutside(t *testing.T) {
	j, _ := demo(t)
	if err := j.Set(record.Entry{Key: record.SupplyVoltage, Value: "180", Unit: "V", Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	rep, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, p := range words(j, rep, "Office, 555 0100") {
		all.WriteString(p.Title + "\n" + strings.Join(p.Lines, "\n") + "\n")
	}
	for _, want := range []string{"The voltage at the outdoor unit was not", "The breaker or fuse of the outdoor unit", "2 were outside", "Office, 555 0100", j.Text(record.RootCause), j.Text(record.OpenConditions)} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("%q is missing in\n%s", want, all.String())
		}
	}
	if strings.Contains(all.String(), "is safe") {
		t.Error("the page calls something safe")
	}
}

func TestTooLongIsAnError(t *testing.T) {
	j, rep := demo(t)
	if err := j.Set(record.Entry{Key: record.WorkDone, Value: strings.Repeat("much was done. ", 900), Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	if err := Write(&bytes.Buffer{}, j, rep, "A4", ""); err == nil || !strings.Contains(err.Error(), "does not fit") {
		t.Errorf("error %v", err)
	}
}

// Nothing of the program's own words is an abbreviation, and nothing is said twice.
func TestPlainWords(t *testing.T) {
	j, rep := demo(t)
	own := []string{}
	for _, e := range j.Entries {
		own = append(own, e.Value)
	}
	short := regexp.MustCompile(`\b[A-Z]{2,}\b`)
	for _, f := range rep.Findings {
		if m := short.FindString(Plain(f.Label)); m != "" {
			t.Errorf("%s: %s in %q", f.Key, m, Plain(f.Label))
		}
	}
	for _, f := range record.Fields {
		if m := short.FindString(Plain(f.Label)); m != "" {
			t.Errorf("%s: %s in %q", f.Key, m, Plain(f.Label))
		}
	}
	washed, all := 0, map[string]bool{}
	for _, p := range words(j, rep, "") {
		for _, l := range p.Lines {
			if all[l] {
				t.Errorf("twice: %q", l)
			}
			all[l] = true
			if strings.Contains(strings.ToLower(l), "coil") && strings.Contains(strings.ToLower(l), "wash") {
				washed++
			}
			for _, o := range own {
				l = strings.ReplaceAll(l, o, "")
			}
			if m := short.FindString(l); m != "" {
				t.Errorf("%s in %q", m, l)
			}
		}
	}
	if washed != 1 {
		t.Errorf("the coil is washed %d times", washed)
	}
}

// Every finding that has a sentence of its own is there.
func TestActionsAreOfFindings(t *testing.T) {
	j, rep := demo(t)
	if err := j.Set(record.Entry{Key: record.Metering, Value: record.MeterFixed, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	fixed, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	for k := range actions {
		_, ok := rep.Find(k)
		if _, also := fixed.Find(k); !ok && !also {
			t.Errorf("no finding %s", k)
		}
	}
}

// The page tells the owner of a label beside the old plate only where it was entered that
// it is there.
func TestALabelThatIsNotThereIsNotTold(t *testing.T) {
	j, rep := demo(t)
	for answer, told := range map[string]bool{"yes": true, "no": false, "": false} {
		if err := j.Set(record.Entry{Key: record.LabelDone, Value: answer, Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
		all := ""
		for _, p := range words(j, rep, "") {
			all += strings.Join(p.Lines, "\n")
		}
		if strings.Contains(all, "plate says what is in the unit now") != told || !strings.Contains(all, "old plate") {
			t.Errorf("answered %q: told %v", answer, !told)
		}
	}
}
