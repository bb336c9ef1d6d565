package supply

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// Each bad input has its error, which names the quantity.
func TestBadInput(t *testing.T) {
	tb := tables(t)
	nan, inf := math.NaN(), math.Inf(1)
	good := must[Overcurrent](t)(tb.MOCP(20))
	err1 := func(_ any, err error) error { return err }
	for _, c := range []struct {
		name string
		err  error
		say  string
	}{
		{"basis", err1(Basis(0, 0)), "rated-load current is 0 A: allowed above 0"},
		{"basis nan", err1(Basis(nan, 0)), "rated-load current"},
		{"bcsc", err1(Basis(20, -1)), "branch-circuit selection current is -1 A: allowed from 0 to 1e+15 A"},
		{"mca", err1(tb.MCA(-3)), "compressor current"},
		{"mca other", err1(tb.MCA(20, 1, -1)), "other load 2 is -1 A: allowed from 0 to 1000 A"},
		{"mocp fan", err1(tb.MOCP(10, 12)), "largest load is the compressor"},
		{"mocp huge", err1(tb.MOCP(900)), "overcurrent limit"},
		{"disconnect", err1(tb.Disconnect(inf)), "compressor current"},
		{"disconnect rating", err1(tb.CheckDisconnect(0, 20)), "rating of the disconnect"},
		{"lra", err1(tb.AssumedLRA(0)), "rated-load current"},
		{"ground", err1(tb.EquipmentGround(500)), "overcurrent device is 500 A: allowed from 1 to 400 A"},
		{"ground gauge", err1(tb.CheckGround("11", 20, "", "")), `gauge "11" AWG`},
		{"ground half", err1(tb.CheckGround("10", 20, "8", "")), "both or none"},
		{"breaker", err1(tb.CheckBreaker(0, 20, good)), "overcurrent device is 0 A"},
		{"breaker mca", err1(tb.CheckBreaker(30, 0, good)), "minimum circuit ampacity"},
		{"breaker mocp", err1(tb.CheckBreaker(30, 25, Overcurrent{})), "maximum overcurrent protection"},
		{"gauge", err1(tb.AmpacityOf("9", Conditions{})), `gauge "9" AWG: known are`},
		{"insulation column", err1(tb.AmpacityOf("10", Conditions{Insulation: 70})), "insulation is rated 70 C"},
		{"terminal column", err1(tb.AmpacityOf("10", Conditions{Terminals: 105})), "a terminal is rated 105 C"},
		{"too hot for 60 C", err1(tb.AmpacityOf("10", Conditions{Ambient: celsius(56)})), "ambient temperature"},
		{"bundle", err1(tb.AmpacityOf("10", Conditions{Bundle: -1})), "conductors together is -1"},
		{"select", err1(tb.SelectConductor(400, Conditions{})), "allowed from 0 to 125 A"},
		{"select 0", err1(tb.SelectConductor(0, Conditions{})), "minimum circuit ampacity"},
		{"wire", err1(tb.CheckWire("10", nan, Conditions{})), "minimum circuit ampacity"},
		{"ohms gauge", err1(tb.ConductorOhms("00", 1, 0, false)), `gauge "00"`},
		{"ohms length", err1(tb.ConductorOhms("10", 2000, 0, false)), "conductor length"},
		{"ohms temperature", err1(tb.ConductorOhms("10", 10, 25, false)), "conductor temperature is 25 K"},
		{"phases", err1(tb.Drop(Branch{Gauge: "10", Length: 1, Phases: 2}, 10)), "2 phases"},
		{"drop", err1(tb.Drop(Branch{Gauge: "10", Length: 1}, -10)), "branch current"},
		{"drop volts", err1(tb.CheckDrop(Branch{Gauge: "10"}, 10, 0)), "line voltage"},
		{"sag", err1(tb.SagAtStart(Start{Branch: Branch{Gauge: "10"}, Source: 240, Rated: 230})), "locked-rotor current"},
		{"sag pf", err1(tb.SagAtStart(Start{Branch: Branch{Gauge: "10"}, Source: 240, Rated: 230, LRA: 100, PowerFactor: 2})), "power factor"},
		{"start volts", err1(tb.CheckStartVolts(-1, 230)), "voltage at start"},
		{"copper cold", err1(CopperAt(1, 20, 300)), "winding temperature is 20 K: allowed from 200 to 500 K"},
		{"copper", err1(CopperAt(-1, 300, 300)), "resistance"},
		{"pins", err1(IdentifyPins(Read(1, 0), OverRange(), Read(1, 0))), "pins 2 and 3: a closed reading is needed"},
		{"pins negative", err1(IdentifyPins(Read(-1, 0), Read(1, 0), Read(1, 0))), "pins 1 and 2"},
		{"winding", err1(tb.CheckWindings(Windings{CS: Read(nan, 0)}, WindingData{})), "R(C-S)"},
		{"winding doubt", err1(tb.CheckWindings(Windings{CR: Read(1, -1)}, WindingData{})), "doubt of R(C-R)"},
		{"winding data", err1(tb.CheckWindings(Windings{}, WindingData{Tolerance: 2})), "winding tolerance"},
		{"case", err1(tb.CheckWindings(Windings{Case: []Ohms{Read(-1, 0)}}, WindingData{})), "resistance to the case"},
		{"insulation cold", err1(tb.InsulationAt(1e6, 25, 313)), "winding temperature is 25 K"},
		{"trend", err1(tb.InsulationTrend([]Insulation{{Ohms: 1e6}, {Ohms: 1e6}})), "reading 1: winding temperature"},
		{"trend zero", err1(tb.InsulationTrend([]Insulation{{Temperature: 300}, {Temperature: 300}})), "first insulation resistance"},
		{"capacitance", err1(Capacitance(6, 0, 60)), "voltage across the capacitor"},
		{"capacitance hertz", err1(Capacitance(6, 400, 0)), "frequency"},
		{"series", err1(SeriesCapacitance(0, 1e-6)), "first section"},
		{"combine", err1(tb.Combine(nil, 0, 440, 0)), "capacitance needed"},
		{"combine part", err1(tb.Combine([]Part{{Farads: 45e-6}, {}}, 45e-6, 440, 0)), "part 2"},
		{"combine many", err1(tb.Combine(make([]Part, 101), 45e-6, 440, 0)), "stock of 101 kinds"},
		{"combine count", err1(tb.Combine([]Part{{Farads: 1e-6, Count: -1}}, 45e-6, 440, 0)), "-1 in stock"},
		{"closure", err1(LeadClosure(10, 0, 10)), "start lead current"},
		{"pf above one", err1(PowerFactor(5000, 240, 10)), "power factor is 2.08"},
		{"pf currents", err1(PowerFactorByVolts(Leads{Run: 10, Start: 2, Common: 20}, 240, 300, 200)), "miss a triangle by 8 A"},
		{"pf volts", err1(PowerFactorByVolts(Leads{Run: 10, Start: 2, Common: 10}, 240, 300, 900)), "close no triangle"},
		{"phasor pf", err1(LeadPhasors(10, 5, 11, 2)), "power factor"},
		{"match", err1(tb.CheckSupplyMatch(240, 1, 60, 1, 60)), "rated voltage: none given"},
		{"unbalance", err1(Unbalance(240, 0, 240)), "line voltage 2"},
		{"derating", err1(tb.Derating(0.06)), "voltage unbalance is 0.06: allowed from 0 to 0.05"},
		{"old new", err1(tb.OldNew(Conversion{New: Side{RLA: -1}})), "new RLA is -1 A"},
		{"old new gauge", err1(tb.OldNew(Conversion{Wire: Branch{Gauge: "11"}})), `gauge "11"`},
		{"old new fan", err1(tb.OldNew(Conversion{New: Side{RLA: 5}, Others: 9})), "largest load is the compressor"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.say) {
			t.Errorf("%s: %v, want %q", c.name, c.err, c.say)
		}
	}
	var r *RangeError
	if _, err := tb.Derating(0.06); !errors.As(err, &r) || r.Max != 0.05 {
		t.Errorf("%v is no RangeError", err)
	}
}
