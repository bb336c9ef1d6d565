package cycle

// Fault is one thing wrong with a machine.
type Fault int

// The faults, with what a severity s means for each.
const (
	Healthy         Fault = iota
	Undercharge           // charge is (1-s) of what it was
	Overcharge            // charge is (1+s) of what it was
	Restriction           // the liquid line loses a further s of the pressure between condenser and evaporator, at the healthy flow
	LowIndoorAir          // indoor air flow is (1-s) of what it was; a fouled evaporator does the same
	LowOutdoorAir         // condenser air flow is (1-s) of what it was; fouling and blocked fins do the same
	NonCondensable        // gas in the condenser adds s of the healthy condensing pressure
	LeakingValves         // the compressor pumps (1-s) of its map and draws (1-0.6 s)
	ValveOverfeeds        // fixed: bore (1+s) times as large; thermostatic: set 8 s K too low
	ValveUnderfeeds       // the bore is (1-s) of what the healthy machine uses
	faults
)

// Faults is the number of faults, Healthy included.
const Faults = int(faults)

// String gives the fault in the trade's words.
func (f Fault) String() string {
	if f < 0 || f >= faults {
		return "unknown"
	}
	return [...]string{"healthy", "undercharge", "overcharge", "liquid line restriction", "low indoor airflow", "low condenser airflow",
		"non-condensable gas", "leaking compressor valves", "valve overfeeds", "valve underfeeds"}[f]
}

// Ways is the number of ways in which a fault comes to a machine. Not all of them
// make the same pattern.
func (m *Machine) Ways(f Fault) int {
	if f == LowOutdoorAir || f == LeakingValves || f == ValveOverfeeds && !m.Valve.Fixed {
		return 2
	}
	return 1
}

// Way is With for each of a fault's ways. Way 0 is With; way 1 is, for
// LowOutdoorAir, a part 0.7 s of the condenser's face without air; for
// LeakingValves, gas that leaks back and is compressed again, so that power falls
// by 0.1 s only; for a thermostatic ValveOverfeeds, a valve that stands open (1+s)
// times as far as the healthy one, whatever the superheat.
func (m Machine) Way(f Fault, way int, s float64, healthy *State) *Machine {
	if way == 0 {
		return m.With(f, s, healthy)
	}
	switch f {
	case LowOutdoorAir:
		open := 1 - 0.7*s
		m.Cond.UA, m.Cond.Air, m.Cond.Rated = m.Cond.UA*open, m.Cond.Air*open, m.Cond.Rated*open
	case LeakingValves:
		m.Flow, m.Draw = m.flow()*(1-s), m.draw()*(1-0.1*s)
	case ValveOverfeeds:
		m.Valve.Stuck = m.Valve.open(healthy.CoilSuperheat) * (1 + s)
	}
	return &m
}

// With returns the machine with a fault of severity s, 0 to below 1, where
// healthy is the state without it in the same conditions.
func (m Machine) With(f Fault, s float64, healthy *State) *Machine {
	switch f {
	case Undercharge:
		m.Charge *= 1 - s
	case Overcharge:
		m.Charge *= 1 + s
	case Restriction:
		m.LiquidR += s * (healthy.CondP - healthy.EvapP) / (healthy.MassFlow * healthy.MassFlow)
	case LowIndoorAir:
		m.Evap.Air *= 1 - s
	case LowOutdoorAir:
		m.Cond.Air *= 1 - s
	case NonCondensable:
		m.Gas += s * healthy.CondP
	case LeakingValves:
		m.Flow, m.Draw = m.flow()*(1-s), m.draw()*(1-0.6*s)
	case ValveOverfeeds:
		if m.Valve.Fixed {
			m.Valve.Area *= 1 + s
		} else {
			m.Valve.Static -= 8 * s
		}
	case ValveUnderfeeds:
		if !m.Valve.Fixed {
			m.Valve.Area *= min(1, max(0, m.Valve.open(healthy.CoilSuperheat)))
		}
		m.Valve.Area *= 1 - s
	}
	return &m
}
