package supply

import (
	"fmt"
	"math"
)

// Side is one compressor with what its data ask for. Zero fields are not known.
type Side struct {
	RLA            float64 // A
	BCSC           float64 // A
	LRA            float64 // A
	Volts          float64 // V, rated; of a range the upper end
	VoltsLow       float64 // V, lower end of a range
	Capacitor      float64 // F, run capacitor asked for
	CapacitorVolts float64 // V, asked for
	MCA, MOCP      float64 // A, as on a plate; 0 takes them from the rule
}

// Conversion is a unit before and after, and what is fitted on it. Zero fields
// are not known and leave their comparison unmade.
type Conversion struct {
	Old, New Side
	Others   float64 // A, what runs with the compressor on the circuit: the fan

	SupplyVolts    float64 // V, nominal
	Capacitor      float64 // F, marked on the part fitted
	CapacitorVolts float64 // V, marked
	Contactor      Contactor
	Breaker        float64 // A
	Disconnect     float64 // A
	Wire           Branch  // Wire.Gauge "" is not known
	Conditions     Conditions
	Ground         string // gauge of the grounding conductor
	SizeUp         bool   // the 2023 edition: next standard size up
}

// Row is one line of the table: what the old compressor had or asked for, what
// the new one asks for, and what is fitted. Zero is not known. Check is nil
// where the line is for information. Note holds what a number does not, such
// as a gauge.
type Row struct {
	Key    string
	Part   string
	What   string
	Unit   string
	Old    float64
	New    float64
	Fitted float64
	Note   string
	Check  *Check
}

// OldNew compares the parts that a new compressor changes: the compressor, its
// capacitor, the contactor, the breaker and the wire. Every row is there in
// every table, in one order; what cannot be judged says why.
func (t *Tables) OldNew(c Conversion) ([]Row, error) {
	if err := c.valid(); err != nil {
		return nil, err
	}
	b := oldNew{t: t, c: c}
	b.compressor()
	b.capacitor()
	b.contactor()
	b.circuit()
	b.branch()
	return b.rows, b.err
}

func (c Conversion) valid() error {
	for _, v := range []struct {
		what string
		x    float64
		unit string
		hi   float64
	}{
		{"old RLA", c.Old.RLA, "A", 1000}, {"old BCSC", c.Old.BCSC, "A", 1000}, {"old LRA", c.Old.LRA, "A", 5000},
		{"new RLA", c.New.RLA, "A", 1000}, {"new BCSC", c.New.BCSC, "A", 1000}, {"new LRA", c.New.LRA, "A", 5000},
		{"old rated voltage", c.Old.Volts, "V", 1000}, {"new rated voltage", c.New.Volts, "V", 1000},
		{"old run capacitor", c.Old.Capacitor, "F", 1}, {"new run capacitor", c.New.Capacitor, "F", 1},
		{"old capacitor voltage", c.Old.CapacitorVolts, "V", 1e4}, {"new capacitor voltage", c.New.CapacitorVolts, "V", 1e4},
		{"old MCA", c.Old.MCA, "A", 2000}, {"old MOCP", c.Old.MOCP, "A", 2000},
		{"new MCA", c.New.MCA, "A", 2000}, {"new MOCP", c.New.MOCP, "A", 2000},
		{"current of the other loads", c.Others, "A", 1000}, {"supply voltage", c.SupplyVolts, "V", 1000},
		{"capacitor fitted", c.Capacitor, "F", 1}, {"voltage of the capacitor fitted", c.CapacitorVolts, "V", 1e4},
		{"breaker", c.Breaker, "A", 1000}, {"disconnect", c.Disconnect, "A", 1000}, {"branch length", c.Wire.Length, "m", 1000},
	} {
		if err := in(v.what, v.x, v.unit, 0, v.hi); err != nil {
			return err
		}
	}
	return nil
}

// oldNew builds the rows; the first error stops the building.
type oldNew struct {
	t    *Tables
	c    Conversion
	rows []Row
	err  error

	mca  float64 // of the new compressor, 0 not known
	mocp Overcurrent
}

func (b *oldNew) add(r Row, check func() (Check, error)) {
	if b.err != nil {
		return
	}
	if check != nil {
		k, err := check()
		if err != nil {
			b.err = fmt.Errorf("%s: %w", r.Key, err)
			return
		}
		r.Check = &k
	}
	b.rows = append(b.rows, r)
}

func (b *oldNew) needs(key, what, unit, need string) (Check, error) {
	return unknown(b.t.rule(key), what, unit, "needs "+need), nil
}

func (b *oldNew) compressor() {
	o, n := b.c.Old, b.c.New
	b.add(Row{Key: "rla", Part: "compressor", What: "rated-load current", Unit: "A", Old: o.RLA, New: n.RLA}, nil)
	b.add(Row{Key: "lra", Part: "compressor", What: "locked-rotor current", Unit: "A", Old: o.LRA, New: n.LRA}, nil)
	b.add(Row{Key: "volts", Part: "compressor", What: "rated voltage", Unit: "V", Old: o.Volts, New: n.Volts, Fitted: b.c.SupplyVolts},
		func() (Check, error) {
			if b.c.SupplyVolts == 0 || n.Volts == 0 {
				return b.needs("plate-volts", "supply voltage", "V", "the supply's and the new compressor's voltage")
			}
			plate := []float64{n.Volts}
			if n.VoltsLow != 0 {
				plate = append(plate, n.VoltsLow)
			}
			return b.t.CheckSupplyMatch(b.c.SupplyVolts, 0, 0, 0, 0, plate...)
		})
}

func (b *oldNew) capacitor() {
	o, n := b.c.Old, b.c.New
	checks := b.t.matchCapacitor(runCapacitor{Marked: b.c.Capacitor, Volts: b.c.CapacitorVolts,
		Needed: n.Capacitor, NeededV: n.CapacitorVolts, Old: o.Capacitor})
	b.add(Row{Key: "capacitor", Part: "capacitor", What: "capacitance", Unit: "F", Old: o.Capacitor, New: n.Capacitor, Fitted: b.c.Capacitor},
		func() (Check, error) { return checks[0], nil })
	b.add(Row{Key: "capacitor-volts", Part: "capacitor", What: "voltage rating", Unit: "V", Old: o.CapacitorVolts, New: n.CapacitorVolts, Fitted: b.c.CapacitorVolts},
		func() (Check, error) { return checks[1], nil })
}

func (b *oldNew) contactor() {
	o, n := b.c.Old, b.c.New
	running := func(rla float64) float64 {
		if rla == 0 {
			return 0
		}
		return rla + b.c.Others
	}
	locked := func(lra float64) float64 { // with the fan's, as it is not marked
		if lra == 0 || b.c.Others == 0 || b.err != nil {
			return lra
		}
		other, err := b.t.AssumedLRA(b.c.Others)
		b.err = err
		return lra + other
	}
	checks, err := b.t.CheckContactor(b.c.Contactor, running(n.RLA), locked(n.LRA))
	if err != nil {
		b.err = err
		return
	}
	b.add(Row{Key: "contactor-fla", Part: "contactor", What: "full-load rating per pole", Unit: "A", Old: running(o.RLA), New: running(n.RLA), Fitted: b.c.Contactor.FLA,
		Note: "compressor and fan through one contactor"},
		func() (Check, error) { return checks[0], nil })
	b.add(Row{Key: "contactor-lra", Part: "contactor", What: "locked-rotor rating per pole", Unit: "A", Old: locked(o.LRA), New: locked(n.LRA), Fitted: b.c.Contactor.LRA,
		Note: "compressor, and six times the fan's current, through one contactor"},
		func() (Check, error) { return checks[1], nil })
	k := b.c.Contactor
	note := ""
	if k.Poles > 0 && k.OldPoles > 0 {
		note = fmt.Sprintf("%d fitted, %d before", k.Poles, k.OldPoles)
	}
	b.add(Row{Key: "contactor-poles", Part: "contactor", What: "poles that open", Unit: "poles", Old: float64(k.OldPoles), New: float64(k.OldPoles), Fitted: float64(k.Poles), Note: note},
		func() (Check, error) {
			if len(checks) < 3 {
				return b.needs("contactor-poles", "poles of the contactor", "", "the poles of the old and of the new contactor")
			}
			return checks[2], nil
		})
}

// circuitOf is MCA and MOCP of one side: by its plate, else by the rule.
func (b *oldNew) circuitOf(s Side) (mca float64, mocp Overcurrent) {
	if s.RLA > 0 && b.err == nil {
		basis, err := Basis(s.RLA, s.BCSC)
		if err == nil {
			mca, err = b.t.MCA(basis, b.c.Others)
		}
		if err == nil {
			size := b.t.MOCP
			if b.c.SizeUp {
				size = b.t.MOCPUp
			}
			mocp, err = size(basis, b.c.Others)
		}
		b.err = err
	}
	if s.MCA > 0 {
		mca = s.MCA
	}
	if s.MOCP > 0 {
		mocp = Overcurrent{Limit: s.MOCP, Size: s.MOCP, StartLimit: s.MOCP, StartSize: s.MOCP, Why: "by the plate",
			Rule: b.t.rule("mocp"), StartRule: b.t.rule("mocp-start")}
	}
	return mca, mocp
}

func (b *oldNew) circuit() {
	c := b.c
	oldMCA, oldMOCP := b.circuitOf(c.Old)
	b.mca, b.mocp = b.circuitOf(c.New)
	if b.err != nil {
		return
	}
	var wire Ampacity
	if c.Wire.Gauge != "" {
		if wire, b.err = b.t.AmpacityOf(c.Wire.Gauge, c.Conditions); b.err != nil {
			return
		}
	}
	note := wire.Gauge
	if note != "" {
		note += " AWG fitted"
	}
	b.add(Row{Key: "wire", Part: "wire", What: "minimum circuit ampacity, against the ampacity fitted", Unit: "A", Old: oldMCA, New: b.mca, Fitted: wire.Amps, Note: note},
		func() (Check, error) {
			if b.mca == 0 || c.Wire.Gauge == "" {
				return b.needs("wire", "ampacity of the conductor", "A", "the new compressor's RLA and the gauge fitted")
			}
			return b.t.CheckWire(c.Wire.Gauge, b.mca, c.Conditions)
		})
	b.add(Row{Key: "breaker", Part: "breaker", What: "maximum overcurrent protection, against the device fitted", Unit: "A", Old: oldMOCP.Size, New: b.mocp.Size, Fitted: c.Breaker, Note: b.mocp.Why},
		func() (Check, error) {
			if b.mocp.Size == 0 || c.Breaker == 0 {
				return b.needs("breaker", "overcurrent device fitted", "A", "the new compressor's RLA and the device fitted")
			}
			return b.t.CheckBreaker(c.Breaker, b.mca, b.mocp)
		})
	need := func(s Side) float64 {
		if s.RLA == 0 {
			return 0
		}
		d, err := b.t.Disconnect(math.Max(s.RLA, s.BCSC), c.Others)
		if err != nil {
			b.err = err
		}
		return d
	}
	b.add(Row{Key: "disconnect", Part: "disconnect", What: "ampere rating", Unit: "A", Old: need(c.Old), New: need(c.New), Fitted: c.Disconnect},
		func() (Check, error) {
			if c.New.RLA == 0 || c.Disconnect == 0 {
				return b.needs("disconnect", "rating of the disconnect", "A", "the new compressor's RLA and the disconnect's marking")
			}
			return b.t.CheckDisconnect(c.Disconnect, math.Max(c.New.RLA, c.New.BCSC), c.Others)
		})
	b.add(Row{Key: "ground", Part: "wire", What: "grounding conductor", Unit: "circular mils", Fitted: b.t.mils(c.Ground), Note: c.Ground},
		func() (Check, error) {
			if c.Ground == "" || c.Breaker == 0 {
				return b.needs("ground", "grounding conductor", "circular mils", "its gauge and the overcurrent device")
			}
			if need, err := b.t.SelectConductor(b.mca, c.Conditions); b.mca > 0 && err == nil && c.Wire.Gauge != "" {
				return b.t.CheckGround(c.Ground, c.Breaker, c.Wire.Gauge, need.Gauge)
			}
			return b.t.CheckGround(c.Ground, c.Breaker, "", "")
		})
}

// branch is what the conductors lose, running and at the start.
func (b *oldNew) branch() {
	c := b.c
	known := c.Wire.Gauge != "" && c.Wire.Length > 0 && c.SupplyVolts > 0
	drop := func(s Side) float64 {
		if !known || s.RLA == 0 || b.err != nil {
			return 0
		}
		d, err := b.t.Drop(c.Wire, s.RLA+c.Others)
		b.err = err
		return d / c.SupplyVolts
	}
	sag := func(s Side) float64 {
		if !known || s.LRA == 0 || s.Volts == 0 || b.err != nil {
			return 0
		}
		g, err := b.t.SagAtStart(Start{Branch: c.Wire, Source: c.SupplyVolts, Rated: s.Volts, LRA: s.LRA})
		b.err = err
		return g.Volts
	}
	b.add(Row{Key: "drop", Part: "wire", What: "voltage drop, running", Unit: "1", Old: drop(c.Old), New: drop(c.New)},
		func() (Check, error) {
			if !known || c.New.RLA == 0 {
				return b.needs("drop-branch", "voltage drop in the branch", "1", "gauge, length, supply voltage and the new RLA")
			}
			return b.t.CheckDrop(c.Wire, c.New.RLA+c.Others, c.SupplyVolts)
		})
	volts := sag(c.New)
	needs := "gauge, length, supply voltage, the new LRA and rated voltage"
	start := func(i int) (Check, error) {
		k, err := b.t.CheckStartVolts(volts, c.New.Volts)
		if err != nil {
			return Check{}, err
		}
		return k[i], nil
	}
	b.add(Row{Key: "sag", Part: "wire", What: "voltage at start, branch alone", Unit: "V", Old: sag(c.Old), New: volts,
		Note: "the service's own sag comes on top: read it at the contactor during a start"},
		func() (Check, error) {
			if volts == 0 {
				return b.needs("sag-start", "voltage at start", "V", needs)
			}
			return start(0)
		})
	coil := Row{Key: "sag-coil", Part: "contactor", What: "coil voltage at start, of its rating", Unit: "1",
		Note: "its transformer follows the line"}
	if volts > 0 {
		coil.New = volts / c.New.Volts
	}
	if old := sag(c.Old); old > 0 {
		coil.Old = old / c.Old.Volts
	}
	b.add(coil, func() (Check, error) {
		if volts == 0 {
			return b.needs("coil-hold", "coil voltage at start", "1", needs)
		}
		return start(1)
	})
}
