package supply

import (
	"testing"
)

// Copper: R2 = R1 (234.5 + T2)/(234.5 + T1), the constant of IEC 60228. Its
// temperature coefficient at 20 C, 0.00393 per C, follows: 1/(234.5 + 20).
func TestCopper(t *testing.T) {
	near(t, "coefficient", must[float64](t)(CopperAt(1, celsius(20), celsius(21)))-1, 0.00393, 5e-6)
	// By hand: 2.6 ohm at 60 C are 2.6 x 259.5/294.5 = 2.291 ohm at 25 C.
	near(t, "60 to 25 C", must[float64](t)(CopperAt(2.6, celsius(60), WindingReference)), 2.2910, 5e-5)
}

// 500 megohm at 25 C are 177 megohm at 40 C (IEEE 43-2013's approximate factor,
// on public pages restating it).
func TestInsulationTemperature(t *testing.T) {
	tb := tables(t)
	near(t, "R40", must[float64](t)(tb.InsulationAt(500e6, celsius(25), InsulationReference))/1e6, 177, 0.5)
	near(t, "one step", must[float64](t)(tb.InsulationAt(100e6, celsius(30), celsius(40)))/1e6, 50, 1e-9)
}

// Bands: hermetic by common practice, random-wound 5 megohm at 40 C (from
// memory).
func TestInsulation(t *testing.T) {
	tb := tables(t)
	// 400 at 20 C is 100 at 40 C; 90 there is 0.9 of it.
	first := Insulation{Ohms: 400e6, Temperature: celsius(20)}
	near(t, "trend", must[float64](t)(tb.InsulationTrend([]Insulation{first, {Ohms: 90e6, Temperature: celsius(40)}})), 0.9, 1e-12)
	if _, err := tb.InsulationTrend([]Insulation{first}); err == nil {
		t.Error("a trend of one reading")
	}
}

func TestWindingStates(t *testing.T) {
	tb := tables(t)
	r := func(x float64) Ohms { return Read(x, 0.03+0.01*x) }
	open := OverRange()
	data := WindingData{Start: 1.74, Run: 0.52}
	at := celsius(25)
	for _, c := range []struct {
		what string
		w    Windings
		data WindingData
		want WindingState
	}{
		{"whole", Windings{CS: r(1.74), CR: r(0.52), SR: r(2.26), Temperature: at}, data, WindingsComplete},
		{"whole, data not known", Windings{CS: r(1.74), CR: r(0.52), SR: r(2.26)}, WindingData{}, WindingsComplete},
		{"whole and warm: 60 C reads 13.5 % high", Windings{CS: r(1.975), CR: r(0.590), SR: r(2.565), Temperature: celsius(60)}, data, WindingsComplete},
		{"start winding open", Windings{CS: open, CR: r(0.52), SR: open}, data, OpenStart},
		{"run winding open", Windings{CS: r(1.74), CR: open, SR: open}, data, OpenRun},
		{"overload open", Windings{CS: open, CR: open, SR: r(2.26)}, data, OpenCommon},
		{"nothing closed", Windings{CS: open, CR: open, SR: open}, data, OpenAll},
		{"one open pair cannot be", Windings{CS: r(1.74), CR: r(0.52), SR: open}, data, ReadingsDisagree},
		{"turns shorted", Windings{CS: r(1.2), CR: r(0.52), SR: r(1.72), Temperature: at}, data, ShortedTurns},
		{"run winding a dead short", Windings{CS: r(1.74), CR: r(0.01), SR: r(1.75)}, WindingData{}, ShortedTurns},
		{"sum does not hold", Windings{CS: r(1.74), CR: r(0.52), SR: r(3.1), Temperature: at}, data, ReadingsDisagree},
		{"bad joint", Windings{CS: r(2.4), CR: r(0.52), SR: r(2.92), Temperature: at}, data, HighResistance},
		{"start and run exchanged", Windings{CS: r(0.52), CR: r(1.74), SR: r(2.26)}, WindingData{}, TerminalsSwapped},
		{"grounded", Windings{CS: r(1.74), CR: r(0.52), SR: r(2.26), Case: []Ohms{open, r(4e4)}}, data, Grounded},
		{"case over-range", Windings{CS: r(1.74), CR: r(0.52), SR: r(2.26), Case: []Ohms{open, open, open}}, data, WindingsComplete},
		{"two readings", Windings{CS: r(1.74), CR: r(0.52)}, data, WindingsIncomplete},
		{"none", Windings{}, data, WindingsIncomplete},
	} {
		rep, err := tb.CheckWindings(c.w, c.data)
		if err != nil || rep.State != c.want || rep.Next == "" || len(rep.Checks) == 0 {
			t.Errorf("%s: %q %q %v, want %q", c.what, rep.State, rep.Next, err, c.want)
		}
	}
}

func TestPins(t *testing.T) {
	r := func(x float64) Ohms { return Read(x, 0.05) }
	p := must[Pins](t)(IdentifyPins(r(2.26), r(0.52), r(1.74)))
	if p.Common != 3 || p.Run != 2 || p.Start != 1 || !p.Sure {
		t.Errorf("%+v", p)
	}
	if p := must[Pins](t)(IdentifyPins(r(2.26), r(1.13), r(1.13))); p.Sure || p.Why == "" || p.Common != 3 {
		t.Errorf("two like windings: %+v", p)
	}
}

// R = V^2/W (Joule): 240 V and 70 W are 823 ohm, 24 V and 9 VA 64 ohm.
func TestRatedOhms(t *testing.T) {
	near(t, "heater", must[float64](t)(RatedOhms(240, 70)), 822.9, 0.05)
	near(t, "coil", must[float64](t)(RatedOhms(24, 9)), 64, 1e-9)
}
