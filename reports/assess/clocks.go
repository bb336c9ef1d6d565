package assess

import (
	"fmt"
	"math"
	"time"

	"retrostage/reports/record"
	"retrostage/thermo/target"
	"retrostage/thermo/units"
)

// Clock is one of the waits of a job. It runs from an instant that stands in the
// record, so that neither a closed window nor a dead tablet stops it.
type Clock struct {
	Key     record.Key    `json:"key"`
	Label   string        `json:"label"`
	Step    record.Step   `json:"step"`
	Started time.Time     `json:"started,omitzero"` // zero: it does not run
	Goal    time.Duration `json:"goal"`             // from the start on
	Why     string        `json:"why"`              // what the goal comes from
	Fills   record.Key    `json:"fills,omitzero"`   // where the time is entered when it is stopped
	Ends    string        `json:"ends"`             // what is to be done then
	Read    record.Key    `json:"read,omitzero"`    // the reading that is taken then; entered once the goal is reached it ends the wait
}

// settling is how long a running unit settles after each change of its charge, and
// where that is from; a quarter of an hour if the tables cannot be read.
func settling() (time.Duration, string) {
	t, err := target.Load()
	if err != nil {
		return 15 * time.Minute, "the tables of targets cannot be read"
	}
	seconds, source, _ := t.Settle()
	return time.Duration(seconds * float64(time.Second)), source
}

// Runs tells whether the clock runs.
func (k Clock) Runs() bool { return !k.Started.IsZero() }

// Past is how long it has run at an instant; 0 where the tablet's clock was set back.
func (k Clock) Past(now time.Time) time.Duration {
	if !k.Runs() || now.Before(k.Started) {
		return 0
	}
	return now.Sub(k.Started)
}

// Due tells whether its goal is reached.
func (k Clock) Due(now time.Time) bool { return k.Runs() && k.Past(now) >= k.Goal }

// Back tells that the tablet's clock stands before the start: it was set back, and
// what has passed cannot be told.
func (k Clock) Back(now time.Time) bool { return k.Runs() && now.Before(k.Started) }

// Stamp is how an instant is kept in the record.
func Stamp(t time.Time) string { return t.Truncate(time.Second).Format(time.RFC3339) }

// clocks are the waits with what is asked of them now.
func (c *context) clocks() []Clock {
	hold, why := c.holdGoal()
	decay, whyDecay := c.decayGoal()
	settled, whySettled := settling()
	out := []Clock{
		{Key: record.HoldStarted, Label: "Nitrogen hold", Step: record.CloseUp, Goal: hold, Why: why, Fills: record.TestTime, Read: record.TestP2, Ends: "read pressure and temperature again"},
		{Key: record.DecayStarted, Label: "Isolated vacuum", Step: record.CloseUp, Goal: decay, Why: whyDecay, Fills: record.VacuumTime, Read: record.VacuumRise, Ends: "read the vacuum; the pump stays valved off"},
		{Key: record.SettleStarted, Label: "Settling after a change of charge", Step: record.Charge, Goal: settled, Why: whySettled, Ends: "read, and enter the step"},
	}
	for i := range out {
		if at, err := time.Parse(time.RFC3339, c.job.Text(out[i].Key)); err == nil {
			out[i].Started = at
		}
	}
	return out
}

func minutes(s float64) time.Duration {
	return time.Duration(math.Ceil(s/60)) * time.Minute
}

// holdGoal is the wait for the leak sought where there is one, else the least that a
// hold is judged after.
func (c *context) holdGoal() (time.Duration, string) {
	least := 15 * time.Minute
	row := c.lim.byFinding["hold_time"]
	if u, err := units.Lookup(units.Duration, row.Unit); err == nil && row.Low != nil {
		least = minutes(u.ToSI(*row.Low, 0))
	}
	if f, ok := c.judgedNow(holdWait); ok && f.Value > least.Seconds() {
		if f.Value > maxHold {
			return least, fmt.Sprintf("the least that is judged; the leak sought would take %.0f h, which no hold with these gauges is kept for", f.Value/3600)
		}
		return minutes(f.Value), "the leak sought"
	}
	return least, "the least that is judged: " + row.Source
}

const maxHold = 24 * 3600.0 // s

// decayGoal is the time that the judgement of the rise asks for.
func (c *context) decayGoal() (time.Duration, string) {
	least := minutes(riseOver)
	j, n, err := c.isolated()
	if n > 0 && (err == nil || j.More > 0) && j.More > 0 {
		t, _, e := riseReadings(c.job.Text(record.VacuumRise))
		if e == nil && len(t) > 0 {
			return max(least, minutes(t[len(t)-1]+j.More)), "what the rise readings so far ask for"
		}
	}
	return least, "the least after which the rise is judged"
}
