package section

import (
	"sync"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/wiring/supply"
)

// Assessment is what is known about one revision of a job, each part computed
// once and shared.
type Assessment struct {
	Job    *record.Job
	Report func() (*assess.Report, error)
	Causes func() (*assess.Diagnosis, error)
	Map    func() (*assess.Mapped, error)
	OldNew func() ([]supply.Row, error)
}

// Assess begins an assessment; nothing is computed before it is asked for.
func Assess(j *record.Job) *Assessment {
	a := &Assessment{Job: j}
	a.Report = sync.OnceValues(func() (*assess.Report, error) { return assess.Run(j) })
	a.Causes = sync.OnceValues(func() (*assess.Diagnosis, error) { return assess.Diagnose(j) })
	a.Map = sync.OnceValues(func() (*assess.Mapped, error) {
		r, err := a.Report()
		if err != nil {
			return nil, err
		}
		return assess.OverMap(j, r)
	})
	a.OldNew = sync.OnceValues(func() ([]supply.Row, error) { return assess.OldNew(j) })
	return a
}
