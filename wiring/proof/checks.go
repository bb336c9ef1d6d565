package proof

// The checks, in the order in which they are shown.
func (bk *rulebook) checks() []Check {
	l := &bk.Limits
	const purpose, rating = "the purpose of the circuit", "rating of the part"
	return []Check{
		{ID: "old-runs", Words: "the old circuit, as entered, runs its compressor when called, so that there is something to compare with", Source: purpose},
		{ID: "buildable", Words: "the new circuit can be built: kinds of circuit apart, terminals not crowded, numbers in range", Source: "the unit file's rules"},
		{ID: "compressor-data", Words: "the new circuit has one compressor, the one that was chosen, and the supply is one for it", Source: "the new compressor's plate; " + bk.nominalsOf},
		{ID: "answered", Words: "no part that only a person can judge stays, comes or goes on an answer that nobody gave", Source: purpose},
		{ID: "as-found", Words: "nothing that stays as it was found is plainly wrong, or contradicts itself, by what is entered", Source: "the sources named where it does not hold"},
		{ID: "runs-when-called", Words: "the compressor runs when a first-stage call stands and nothing is open that stopped the old one", Source: purpose},
		{ID: "off-without-call", Words: "the compressor does not run without a first-stage call", Source: purpose},
		{ID: "interrupts", Words: "whatever stopped the old compressor by opening, alone or with others, stops the new one", Source: purpose},
		{ID: "links-interrupt", Words: "each fuse or other contact that opens by failing stops, alone, the loads that it stopped", Source: purpose},
		{ID: "delay-holds", Words: "the compressor does not run before the delay has run", Source: purpose},
		{ID: "no-seal-in", Words: "no sequence of calls, openings and closings leaves the compressor running without call or with an interrupter open", Source: purpose},
		{ID: "no-latch-off", Words: "no sequence leaves the compressor off that is called and free to run, unless the old unit did so too", Source: purpose},
		{ID: "lockout-kept", Words: "where the old unit locked out after a trip until the call went, the new one does, or it is stated why not", Source: purpose},
		{ID: "delay-again", Words: "after an interrupter opens and closes under a standing call, the delay runs again before the compressor does", Source: l.RestartSource},
		{ID: "delay-kept", Words: "where a delay held off the old compressor's restart, one holds off the new one's, or it is stated why not", Source: "common practice, no source: a restart against high pressure overloads a compressor"},
		{ID: "no-chatter", Words: "every relay comes to rest", Source: purpose},
		{ID: "interrupter-gone", Words: "no interrupter was taken out without a stated reason", Source: "common practice, no source; the maker's instructions govern"},
		{ID: "does-nothing", Words: "nothing is kept that carries nothing", Source: l.IdleSource},
		{ID: "part-changed", Words: "a part that is kept is the part that it was", Source: purpose},
		{ID: "load-gone", Words: "no load was taken out without a stated reason", Source: l.LoadSource},
		{ID: "load-added", Words: "no load and no source was added without a stated reason", Source: purpose},
		{ID: "load-duty", Words: "each load that stays does what it did and gets the voltage that it had, in each corresponding state", Source: l.DutySource},
		{ID: "start-parts", Words: "what helped the old compressor to start is there, or it is stated why not", Source: "the new compressor's instructions"},
		{ID: "off-is-off", Words: "a compressor that is off has no more on its windings, and is no more live to earth, than the old one was", Source: l.DutySource},
		{ID: "stalls", Words: "no motor stands under voltage", Source: purpose},
		{ID: "winding-shorted", Words: "no winding has both its ends on one lead", Source: purpose},
		{ID: "motor-volts", Words: "every motor that runs has its rated voltage within the band", Source: l.MotorSource},
		{ID: "capacitor", Words: "between start and run lead of each running motor lies just the capacitance that it asks for, or that it had", Source: "the motor's plate; " + l.CapacitorSource + "; " + l.PhaseSource},
		{ID: "capacitor-volts", Words: "every capacitor and start part is rated for the voltage on it, the run capacitor for what the compressor asks", Source: "the new compressor's plate; " + rating},
		{ID: "contactor", Words: "every contact in the compressor's line is rated for its rated-load current, with the fan's where it carries it, and a contactor for the locked rotor", Source: l.ContactorSource},
		{ID: "contacts", Words: "every contact and fuse carries no more than its rating", Source: rating},
		{ID: "poles", Words: "as many of the compressor's legs are broken at rest as were", Source: purpose},
		{ID: "bridged", Words: "no contact is bridged by conductors", Source: purpose},
		{ID: "conductors", Words: "every conductor within its ampacity, the compressor's counted at 125 %", Source: l.AmpacitySource + "; NEC 110.14(C) and 440.32, 440.33, read in the 2023 edition; " + l.Class2AmpSource},
		{ID: "insulation", Words: "every conductor's insulation rated for the voltage on it, and inside a cabinet for the line voltage beside it", Source: "rating of the conductor; beside line: common practice, no source (NEC Article 725 not read)"},
		{ID: "overcurrent", Words: "the overcurrent device is not above what the compressor and the other loads allow", Source: l.OvercurrentSource + "; sizes: " + bk.sizeOf},
		{ID: "source-limit", Words: "no source delivers more than its overcurrent device lets through", Source: rating},
		{ID: "transformer", Words: "every transformer within its volt-amperes, with all coils in that can be in together", Source: "rating of the transformer"},
		{ID: "class2-limits", Words: "no Class 2 source above its voltage or power limit", Source: l.Class2Source},
		{ID: "class2-protected", Words: "a Class 2 source is marked so, limits itself, or has its fuse first behind it", Source: l.Class2FuseSource},
		{ID: "overload", Words: "an overload in the compressor's line trips at what the new compressor allows", Source: l.OverloadSource},
		{ID: "class2-apart", Words: "nothing of a Class 2 circuit is joined to line", Source: "NEC Article 725 separation, common practice"},
		{ID: "paralleled", Words: "no two transformers are in parallel", Source: "common practice, no source: each feeds back through the other"},
		{ID: "no-backfeed", Words: "with any one disconnect open, nothing of its line circuit is live", Source: l.TouchSource},
		{ID: "no-short", Words: "no state short-circuits a source", Source: l.ShortSource},
		{ID: "coils", Words: "every coil is between pick-up and its upper limit, or released below drop-out", Source: l.CoilSource},
		{ID: "no-live-stub", Words: "no capped end is live", Source: "common practice, no source"},
		{ID: "ground-current", Words: "no ground conductor carries current, and nothing lies between a live part and ground", Source: l.GroundSource},
		{ID: "ground-switched", Words: "no switch or fuse lies in a ground", Source: l.GroundSwitchSource},
		{ID: "ground-fault", Words: "where one side of the 24 V is grounded, no one conductor that touches the cabinet runs the compressor without call or with an interrupter open", Source: "NEC 430.74, number from memory; tried by solving"},
		{ID: "ground-size", Words: "each ground conductor on which the compressor's ground depends, and each that is new, is thick enough", Source: bk.groundOf},
		{ID: "ground-landed", Words: "what was grounded is grounded, and the new compressor too", Source: l.GroundLandedSource},
	}
}

// note stands under every proof.
const note = "Checked by solving the old and the new circuit, with typical parts, and comparing them. It says nothing about damaged parts or the unit as actually wired: use the check-out lists. The maker's instructions and local code govern."
