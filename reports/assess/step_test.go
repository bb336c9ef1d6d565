package assess

import (
	"math"
	"testing"

	"retrostage/reports/record"
)

// A display that shows coarse steps doubts each reading by half a step, which two readings
// of one instrument do not share: their difference is not told closer than the steps.
func TestStepsOfADisplay(t *testing.T) {
	t.Parallel()
	held := func(step float64) Finding {
		j := demo(t)
		j.Instruments = append(j.Instruments, record.Instrument{ID: "N", Name: "Test gauge", Accuracy: []record.Accuracy{{Dim: record.TestP1.Field().Dim, Plus: 0.2, Unit: "psig", Step: step}}})
		for _, k := range []record.Key{record.TestP1, record.TestP2} {
			e, ok := j.Entry(k)
			if !ok {
				t.Fatalf("no %s", k)
			}
			e.Instrument = "N"
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
		}
		return find(t, run(t, j), "pressure_hold")
	}
	fine, was := held(0.0001), held(0)
	if fine.Verdict != was.Verdict || math.Abs(fine.U/was.U-1) > 1e-3 {
		t.Errorf("steps too fine to matter: %s, %v; without %s, %v", fine.Verdict, fine.U, was.Verdict, was.U)
	}
	const psi = 6894.757
	last := was.U
	for _, step := range []float64{1, 2, 5, 10, 20} {
		f := held(step)
		// At least that of two numbers each anywhere within half a step.
		if least := step / 2 / math.Sqrt(3) * math.Sqrt2 * psi * 0.98; f.U < least || f.U < last {
			t.Errorf("steps of %g psi: ±%.0f Pa standard, at least %.0f, before %.0f", step, f.U, least, last)
		}
		last = f.U
		if step >= 10 && f.Verdict == Within {
			t.Errorf("steps of %g psi: %s", step, f.Verdict)
		}
	}
}
