package supply

import (
	"fmt"
)

// gaugeIndex is the row of gauge in the ampacity table, thin to thick; -1 if
// there is none.
func (t *Tables) gaugeIndex(gauge string) int {
	for i, r := range t.Ampacity.Rows {
		if r.Gauge == gauge {
			return i
		}
	}
	return -1
}

// Gauges lists the copper gauges of the ampacity table, thin to thick.
func (t *Tables) Gauges() []string {
	var g []string
	for _, r := range t.Ampacity.Rows {
		g = append(g, r.Gauge)
	}
	return g
}

// ohms is the resistance of gauge at 75 C, ohm per 1000 ft.
func (t *Tables) ohms(gauge string, solid bool) (float64, error) {
	for _, r := range t.Resistance.Rows {
		if r.Gauge == gauge {
			if solid && r.Solid > 0 {
				return r.Solid, nil
			}
			return r.Stranded, nil
		}
	}
	return 0, fmt.Errorf("gauge %q is not in the resistance table", gauge)
}
