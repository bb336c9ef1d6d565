package owner

import (
	"bytes"
	"os/exec"
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

func TestOnePageEachPaper(t *testing.T) {
	j, rep := demo(t)
	for _, paper := range []string{"Letter", "A4"} {
		var a, b bytes.Buffer
		if err := Write(&a, j, rep, paper); err != nil {
			t.Fatal(err)
		}
		if err := Write(&b, j, rep, paper); err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(a.Bytes(), []byte("%PDF-")) || bytes.Count(a.Bytes(), []byte("/Type /Page\n")) != 1 {
			t.Errorf("%s: not one page of PDF", paper)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: the same job gave other bytes", paper)
		}
	}
	if err := Write(&bytes.Buffer{}, j, rep, "napkin"); err == nil {
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
	if err := Write(&b, j, rep, "Letter"); err != nil {
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
	for _, p := range words(j, rep) {
		all.WriteString(p.title + "\n" + strings.Join(p.lines, "\n") + "\n")
	}
	for _, want := range []string{"Outside: Supply voltage, running.", "Outside: Breaker or fuse", "2 were outside", j.Text(record.RootCause), j.Text(record.OpenConditions)} {
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
	if err := Write(&bytes.Buffer{}, j, rep, "A4"); err == nil || !strings.Contains(err.Error(), "does not fit") {
		t.Errorf("error %v", err)
	}
}
