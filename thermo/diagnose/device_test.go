package diagnose

import (
	"strings"
	"testing"
)

// A fixed bore has no bulb and no valve: nothing of either is said of it, and every
// cause keeps a test for each metering device.
func TestWordsFitTheMeteringDevice(t *testing.T) {
	c, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Causes {
		e := &c.Causes[i]
		said := map[bool]string{false: e.label(false), true: e.label(true)}
		for _, q := range e.Tests {
			if q.Device != "" && q.Device != "valve" && q.Device != "fixed" {
				t.Errorf("%s: a test for %q", e.ID, q.Device)
			}
		}
		for _, fixed := range []bool{false, true} {
			r := &Report{Causes: []Cause{{Fault: e.Fault}}}
			c.choose(r, fixed)
			if r.Causes[0].Next.Do == "" {
				t.Errorf("%s, fixed bore %v: no test", e.ID, fixed)
			}
			said[fixed] += " " + r.Causes[0].Next.Do
		}
		for _, rival := range c.Causes {
			r := &Report{Causes: []Cause{{Fault: e.Fault}, {Fault: rival.Fault}}}
			c.choose(r, true)
			said[true] += " " + r.Causes[0].Next.Do
		}
		if strings.Contains(strings.ToLower(said[true]), "bulb") {
			t.Errorf("%s: of a fixed bore it says %q", e.ID, said[true])
		}
	}
}
