package match

import (
	"retrostage/thermo/compressor"
	"retrostage/thermo/cycle"
)

// Plane is where compressors work with the coils that stay, for a picture of
// condensing over evaporating temperature.
type Plane struct {
	Envelope         []compressor.Point // K, of the candidate; none where its data state no range
	New              []At               // over the weather, rising
	OldHigh, OldLow  []At
	Asked            int // weathers asked of the new one; in some the model may find no state
	NewAt, OldHighAt At  // on the design day
	OldLowAt         At
}

// Envelope is the region in which a candidate's data say that it may run, K: its map's,
// else the rectangle of its ranges where all four ends are stated.
func (c Candidate) Envelope() []compressor.Point {
	if c.Map != nil && len(c.Map.Envelope) > 2 {
		return c.Map.Envelope
	}
	if c.EvapLow > 0 && c.EvapHigh > c.EvapLow && c.CondLow > 0 && c.CondHigh > c.CondLow {
		return compressor.Rectangle(c.EvapLow, c.EvapHigh, c.CondLow, c.CondHigh)
	}
	return nil
}

// Plane lays a judged candidate and both old stages over the weather from mild to the
// hottest day, each with the charge that it was given on the design day. It is nil
// without an error where the candidate has no balance; weather in which the model finds
// no state is left out.
func (u Unit) Plane(j Judged) (*Plane, error) {
	b := j.Balance
	if b == nil {
		return nil, nil
	}
	old, err := u.machine()
	if err != nil {
		return nil, err
	}
	low := u.lowStage(old)
	p := &Plane{Envelope: j.Candidate.Envelope(), New: b.Over, Asked: b.asked, NewAt: b.Design, OldHighAt: b.OldHigh, OldLowAt: b.OldLow}
	p.OldHigh, p.OldLow = u.over(old), u.over(low)
	return p, nil
}

// over is a machine over the weather with the charge of the design day.
func (u Unit) over(m *cycle.Machine) (out []At) {
	_, near, err := u.solve(m, u.design(), nil)
	if err != nil {
		return nil
	}
	k := *m
	k.Charge = near.Charge
	for _, t := range append(u.outdoors(), u.hottest()) {
		w, err := u.weather(t)
		if err != nil {
			continue
		}
		if s, err := k.Solve(w, near); err == nil {
			out = append(out, u.at(&k, t, s, w))
		}
	}
	return out
}
