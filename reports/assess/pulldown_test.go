package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// pulling is a pull-down of so many minutes: a pump's exponential to a floor, and water
// that holds until a minute (0: none), micron.
func pulling(minutes int, tau, floor, water, until float64) string {
	var out []string
	for m := range minutes + 1 {
		t := float64(m)
		p := floor + 700000*math.Exp(-t/tau)
		if water > 0 {
			p += water * math.Exp(-math.Max(0, t-until)/tau)
		}
		out = append(out, fmt.Sprintf("%d %.0f", m, p))
	}
	return strings.Join(out, "\n")
}

func TestPullDownFinding(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text string
		left       [2]float64 // minutes, between which the time lies; both 0: none is given
		says       string
	}{
		{"on its way", pulling(20, 4, 100, 0, 0), [2]float64{4, 14}, ""}, // exactly: 4 ln(4717/400), 9.9 min
		{"there", pulling(45, 4, 100, 0, 0), [2]float64{0, 0.01}, ""},
		{"a floor above it", pulling(60, 4, 2000, 0, 0), [2]float64{}, "levels off"},
		{"water that does not end, which a floor explains as well", pulling(60, 4, 50, 12000, 1e9), [2]float64{}, "a leak, water, or"},
	} {
		j := demo(t)
		set(t, j, record.VacuumPull, c.text, "")
		f := find(t, run(t, j), "pull_down")
		if c.left == [2]float64{} {
			if f.Measured {
				t.Errorf("%s: %g min", c.name, f.Value/60)
			}
		} else if m := f.Value / 60; !f.Measured || m < c.left[0] || m > c.left[1] {
			t.Errorf("%s: %g min (%v, %s), want %v", c.name, m, f.Measured, f.Reason, c.left)
		}
		if !strings.Contains(f.Next+f.Reason, c.says) {
			t.Errorf("%s: %s %s", c.name, f.Reason, f.Next)
		}
	}
	for _, bad := range []string{"0 5", "soon", "0 1\n1 x\n2 3\n3 4\n4 5\n5 6\n6 7"} {
		j := demo(t)
		set(t, j, record.VacuumPull, bad, "")
		if f := find(t, run(t, j), "pull_down"); f.Measured {
			t.Errorf("%q gave %g s", bad, f.Value)
		}
	}
}

// Frozen or boiling water is warned of at the temperature that was read.
func TestIceIsWarnedOf(t *testing.T) {
	j := demo(t)
	set(t, j, record.VacuumColdest, "25", "F")
	set(t, j, record.VacuumPull, pulling(40, 4, 100, 0, 0), "")
	c, err := newContext(j)
	if err != nil {
		t.Fatal(err)
	}
	if w := c.iceWords(60, false); !strings.Contains(w, "is ice") {
		t.Errorf("25 F: %q", w)
	}
	set(t, j, record.VacuumColdest, "70", "F")
	if c, err = newContext(j); err != nil {
		t.Fatal(err)
	}
	if w := c.iceWords(300, true); !strings.Contains(w, "turns to ice") {
		t.Errorf("boiling at 300 Pa: %q", w)
	}
	for _, p := range []float64{300, 2000} {
		if w := c.iceWords(p, p > 1000); w != "" {
			t.Errorf("%g Pa at 70 F: %q", p, w)
		}
	}
}

// A leak's rate and water's mass are told only where the free volume is known.
func TestAmountsNeedTheVolume(t *testing.T) {
	t.Parallel()
	for text, says := range map[string]string{rising(300, 25, 0): "air drawn in at", rising(300, 0, 2500): "mg of water"} {
		j := demo(t)
		set(t, j, record.VacuumRise, text, "")
		lines := strings.Split(text, "\n")
		set(t, j, record.VacuumEnd, strings.Fields(lines[len(lines)-1])[1], "micron")
		if f := find(t, run(t, j), "vacuum_word"); strings.Contains(f.Next, says) {
			t.Errorf("no volume, yet %s", f.Next)
		}
		set(t, j, record.FreeVolume, "8", "L")
		if f := find(t, run(t, j), "vacuum_word"); f.Verdict == Outside && says != "mg of water" && !strings.Contains(f.Next, says) {
			t.Errorf("8 L: %s %s", f.Verdict, f.Next)
		}
	}
}
