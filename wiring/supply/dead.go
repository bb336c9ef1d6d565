package supply

import (
	"errors"
	"fmt"
	"math"
)

// InsulationAt brings an insulation resistance r, ohm, from a winding
// temperature to another, K: it halves for each 10 C (IEEE 43-2013, the
// approximate factor; the reference there is 40 C). Range: 250 to 400 K.
func (t *Tables) InsulationAt(r, from, to float64) (float64, error) {
	if err := natural("insulation resistance", r, "ohm"); err != nil {
		return 0, err
	}
	for _, k := range []float64{from, to} {
		if err := in("winding temperature", k, "K", 250, 400); err != nil {
			return 0, err
		}
	}
	return finite("insulation resistance", r*math.Exp2(-(to-from)/t.rule("insulation-temperature").Value))
}

// InsulationReference is the temperature at which insulation is compared, K
// (40 C).
const InsulationReference = 313.15

// Insulation is a reading from the windings to the case.
type Insulation struct {
	Ohms        float64
	Temperature float64 // of the winding, K
}

// InsulationTrend is the last of several readings, oldest first, over the first,
// all brought to 40 C.
func (t *Tables) InsulationTrend(readings []Insulation) (float64, error) {
	var at40 []float64
	for n, i := range readings {
		r, err := t.InsulationAt(i.Ohms, i.Temperature, InsulationReference)
		if err != nil {
			return 0, fmt.Errorf("reading %d: %w", n+1, err)
		}
		at40 = append(at40, r)
	}
	if len(at40) < 2 {
		return 0, errors.New("a trend needs two readings")
	}
	if err := positive("first insulation resistance", at40[0], "ohm"); err != nil {
		return 0, err
	}
	return finite("insulation, last of first, both at 40 C", at40[len(at40)-1]/at40[0])
}

// RatedOhms is V squared over W, ohm: the resistance of a heater when hot, and
// the impedance of a coil when watts is its VA.
func RatedOhms(volts, watts float64) (float64, error) {
	if err := in("rated voltage", volts, "V", 1, 1000); err != nil {
		return 0, err
	}
	if err := in("rated power", watts, "W", 0.01, 1e5); err != nil {
		return 0, err
	}
	return volts * volts / watts, nil
}
