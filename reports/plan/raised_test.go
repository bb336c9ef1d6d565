package plan

import (
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// BenchmarkRaised: the questions of a job's unit, which the state of its step asks.
func BenchmarkRaised(b *testing.B) {
	j := demoJob(b)
	for b.Loop() {
		if _, err := Raised(j); err != nil {
			b.Fatal(err)
		}
	}
}

// A drawing that stages otherwise than Intake says is no drawing of this unit.
func TestADrawingThatContradictsIntake(t *testing.T) {
	j := demo(t)
	set := func(key record.Key, v string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: key, Value: v, Time: time.Unix(1.79e9, 0)}); err != nil {
			t.Fatal(err)
		}
	}
	for _, o := range record.Staging.Field().Options {
		set(record.Staging, o)
		set(record.OldPoles, "")
		said := len(Contradicts(j)) > 0
		us, err := Likeliest(j)
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range us {
			if u.Name == j.Text(record.OldControls) && said != slices.ContainsFunc(u.Against, func(w string) bool { return strings.Contains(w, o) }) {
				t.Errorf("%s: contradicts %v, against it %v", o, said, u.Against)
			}
		}
	}
	set(record.Staging, "")
	set(record.OldPoles, "2")
	if len(Contradicts(j)) != 1 {
		t.Error("two poles for a one-pole drawing")
	}
	// A drawing that was changed is held against Intake as it is now: in another part it
	// contradicts as before, with its poles put right no more.
	u, err := Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	for i := range u.Devices {
		u.Devices[i].Label += "."
	}
	j.Unit = u.JSON()
	if len(Contradicts(j)) != 1 {
		t.Error("a changed label, and the poles are contradicted no more")
	}
	for i := range u.Devices {
		if u.Devices[i].Kind == "contactor-1p" {
			u.Devices[i].Kind = "contactor-2p"
		}
	}
	j.Unit = u.JSON()
	if said := Contradictions(j); len(said) != 0 {
		t.Errorf("two poles drawn and entered: %v", said)
	}
	set(record.OldPoles, "1")
	if said := Contradictions(j); len(said) != 1 || said[0].Key != record.OldPoles {
		t.Errorf("one pole entered, two drawn: %v", said)
	}
}

// An edit of the drawing leaves contradicted what it does not touch, and settles what it mends.
func TestAnEditSettlesOnlyWhatItMends(t *testing.T) {
	j := demo(t)
	if err := j.Set(record.Entry{Key: record.OldPoles, Value: "2", Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	u, err := Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(u.Devices, func(d netlist.Device) bool { return d.Kind == "contactor-1p" })
	if at < 0 {
		t.Fatal("the demo's drawing has no contactor of one pole")
	}
	u.Devices[at].Label += " of the compressor"
	j.Unit = u.JSON()
	if len(Contradicts(j)) != 1 {
		t.Error("an edited label makes two poles of one")
	}
	if err := j.Set(record.Entry{Key: record.Staging, Value: record.StagingTwo, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
	if len(Contradicts(j)) != 2 {
		t.Error("an edited label makes two compressors of one")
	}
	u.Devices[at].Kind = "contactor-2p"
	j.Unit = u.JSON()
	if got := Contradicts(j); len(got) != 1 || strings.Contains(got[0], "poles") {
		t.Errorf("two poles entered and drawn: %q", got)
	}
}
