package assess

import (
	"math"

	"retrostage/reports/record"
	"retrostage/wiring/supply"
)

// LeadCurrents is the three lead currents of a running compressor (A) as phasors,
// and how well they close.
type LeadCurrents struct {
	Run, Start, Common float64 // as read, A
	Phasors            *supply.Phasors
	Closure            *supply.Closure
}

// LeadCurrentsOf is the lead currents of a job; nil while they are not all read.
// The error says why three that are read do not make a triangle.
func LeadCurrentsOf(j *record.Job, site float64) (*LeadCurrents, error) {
	l := &LeadCurrents{}
	for _, q := range []struct {
		key  record.Key
		into *float64
	}{{record.RunLeadCurrent, &l.Run}, {record.CapCurrent, &l.Start}, {record.RunCurrent, &l.Common}} {
		x, ok := j.SI(q.key, site)
		if !ok || !(x > 0) {
			return nil, nil
		}
		*q.into = x
	}
	if p, err := supply.LeadPhasors(l.Run, l.Start, l.Common, 0); err == nil {
		l.Phasors = &p
	}
	c, err := supply.LeadClosure(l.Run, l.Start, l.Common)
	if err != nil {
		return l, err
	}
	l.Closure = &c
	return l, nil
}

// Degrees is how far the start current is ahead of the run current; 0 where they
// are not closed.
func (l *LeadCurrents) Degrees() float64 {
	if l.Closure == nil {
		return 0
	}
	return l.Closure.Angle * 180 / math.Pi
}
