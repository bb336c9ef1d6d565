package app

import (
	"strings"
	"testing"
	"time"

	"retrostage/assets"
	"retrostage/reports/record"
)

func demoJob(t *testing.T) *record.Job {
	t.Helper()
	raw, err := assets.FS.ReadFile("demo/demo-four-ton.job.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := record.Decode(raw)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestTheMapIsDrawnOnceThereIsOne(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	if text := shownWords(body(t, b, "compressor map")); text != "" {
		t.Errorf("without a map: %s", text)
	}
	b.SetJob(b.keep, demoJob(t))
	b.Go(stepIndex(record.Running))
	text := shownWords(body(t, b, "compressor map"))
	for _, want := range []string{"Cooling here: the map expects", "Current here: the map expects", "by the air", "by clamp"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in: %s", want, text)
		}
	}
	// A current that is read anew moves its picture.
	if err := b.job.Set(record.Entry{Key: record.RunCurrent, Value: "25.1", Unit: "A", Time: time.Now()}); err != nil {
		t.Fatal(err)
	}
	b.recalc()
	if again := shownWords(body(t, b, "compressor map")); again == text || !strings.Contains(again, "measured 25.1") {
		t.Errorf("after a new reading: %s", again)
	}
}
