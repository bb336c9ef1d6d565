package label

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/assets"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

func demo(t *testing.T) *record.Job {
	t.Helper()
	b, err := assets.FS.ReadFile("demo/demo-four-ton.job.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := record.Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func set(t *testing.T, j *record.Job, k record.Key, value, unit string) {
	t.Helper()
	if err := j.Set(record.Entry{Key: k, Value: value, Unit: unit, Time: j.Entries[0].Time}); err != nil {
		t.Fatal(err)
	}
}

func lines(t *testing.T, j *record.Job) string {
	t.Helper()
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(Lines(j, r), "\n")
}

// Printed at true size, the code is read by a decoder that is not ours (zbar).
func TestCodeIsDecoded(t *testing.T) {
	for _, tool := range []string{"pdftoppm", "zbarimg"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " is not here: .ci/setup installs it")
		}
	}
	j := demo(t)
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "label")
	f, err := os.Create(name + ".pdf")
	if err != nil {
		t.Fatal(err)
	}
	if err := Write(f, j, r); err != nil {
		t.Fatal(err)
	}
	f.Close()
	if out, err := exec.Command("pdftoppm", "-r", "150", "-png", "-singlefile", name+".pdf", name).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	got, err := exec.Command("zbarimg", "-q", "--raw", name+".png").Output()
	if err != nil {
		t.Fatal(err)
	}
	if want := strings.Join(Lines(j, r), "\n"); strings.TrimSpace(string(got)) != want {
		t.Errorf("decoded\n%s\nwritten\n%s", got, want)
	}
}

// Verified is said only after a running check that means something.
func TestVerifiedIsEarned(t *testing.T) {
	const word = "then checked running"
	if !strings.Contains(lines(t, demo(t)), word) {
		t.Fatal("the demo's charge was checked, and the label does not say so")
	}
	for name, e := range map[string]record.Entry{
		"cold day":        {Key: record.OutdoorTemp, Value: "48", Unit: "F"},
		"no outdoor air":  {Key: record.OutdoorTemp},
		"not settled":     {Key: record.SettleTime, Value: "3", Unit: "min"},
		"no settling":     {Key: record.SettleTime},
		"subcooling off":  {Key: record.LiquidTemp, Value: "108", Unit: "F"},
		"close call":      {Key: record.LiquidTemp, Value: "104.2", Unit: "F"},
		"no target":       {Key: record.TagSubcooling},
		"label off scale": {Key: record.LabelCharge, Value: "128", Unit: "oz"},
	} {
		j := demo(t)
		set(t, j, e.Key, e.Value, e.Unit)
		if s := lines(t, j); strings.Contains(s, word) {
			t.Errorf("%s: %s", name, s)
		}
	}
}

func TestNothingIsMadeUp(t *testing.T) {
	j := demo(t)
	set(t, j, record.FanFLA, "", "")
	set(t, j, record.CapFitted, "", "")
	s := lines(t, j)
	if !strings.Contains(s, "ampacity not reckoned; largest overcurrent device not reckoned") || !strings.Contains(s, "run capacitor "+unknown) {
		t.Error(s)
	}
}
