package assess

import (
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// Suction gas that may be wet, or liquid that may flash, has no enthalpy: what hangs
// on it is not told, with or without a map, and the reason names the reading.
func TestNoEnthalpyWherePhaseIsInDoubt(t *testing.T) {
	t.Parallel()
	for _, withMap := range []bool{false, true} {
		for name, c := range map[string]struct {
			key  record.Key
			from string  // the finding of the saturation temperature
			off  float64 // F

			deps []string
			word string
		}{
			"3 F below saturation": {record.SuctionTemp, "evaporating", -3, []string{"isentropic_efficiency", "flow_balance", "capacity_refrigerant", "sides_agree"}, "liquid"},
			"1 F above saturation": {record.SuctionTemp, "evaporating", 1, []string{"isentropic_efficiency", "flow_balance", "capacity_refrigerant", "sides_agree"}, "liquid"},
			"liquid 2 F too warm":  {record.LiquidTemp, "condensing", 2, []string{"capacity_refrigerant", "sides_agree"}, "gas"},
		} {
			j := demo(t)
			if withMap {
				j = mapped(t)
			}
			set(t, j, record.SupplyWB, "57", "F")
			at := find(t, run(t, j), c.from).Value*1.8 - 459.67 + c.off
			set(t, j, c.key, strconv.FormatFloat(at, 'f', 2, 64), "F")
			r := run(t, j)
			for _, key := range c.deps {
				f := find(t, r, key)
				if f.Measured || f.Verdict != NotMeasured || !strings.Contains(f.Reason, c.word) {
					t.Errorf("map %v, %s: %s is %.3f ± %.3f, %s: %s", withMap, name, key, f.Value, f.Expanded(), f.Verdict, f.Reason)
				}
			}
		}
	}
}
