package assess

import (
	"fmt"
	"sync"

	"retrostage/reports/cause"
	"retrostage/reports/record"
	"retrostage/wiring/supply"
)

// Assessment is what can be said of a job as it stands: its parts are computed
// when they are first asked for, each once, and shared. Any number of goroutines
// may ask. What it hands out is everybody's: it is not to be changed.
type Assessment struct {
	job    *record.Job
	report func() (*Report, error)
	causes func() (*Diagnosis, error)
	mapped func() (*Mapped, error)
	oldNew func() ([]supply.Row, error)

	failure func() (*cause.Examination, error)
	choices func() (*Choices, error)
	matches func() (*Matches, error)
}

// New assesses a job, which must not change from now on: where it may, New is
// given a clone. It costs nothing until something is asked.
func New(j *record.Job) *Assessment {
	a := &Assessment{job: j}
	var mu sync.Mutex // the context remembers what it computes
	context := sync.OnceValues(func() (*context, error) { return newContext(j) })
	a.report = sync.OnceValues(func() (*Report, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		defer mu.Unlock()
		return c.report()
	})
	a.causes = sync.OnceValues(func() (*Diagnosis, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		r, err := a.report()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		check, d, err := c.check(r)
		mu.Unlock() // the ranking itself takes its time and nothing of the context
		if check == nil || err != nil {
			return d, err
		}
		return check.rank(d)
	})
	a.mapped = sync.OnceValues(func() (*Mapped, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		r, err := a.report()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		defer mu.Unlock()
		return c.overMap(r)
	})
	a.oldNew = sync.OnceValues(func() ([]supply.Row, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		t, err := supply.Load()
		if err != nil {
			return nil, err
		}
		r, err := a.report()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		defer mu.Unlock()
		rows, err := t.OldNew(c.conversion())
		return follow(rows, r.Findings), err
	})
	a.failure = sync.OnceValues(func() (*cause.Examination, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		defer mu.Unlock()
		x, err := c.examined()
		return &x, err
	})
	a.choices = sync.OnceValues(func() (*Choices, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		k, err := c.gathered()
		mu.Unlock() // comparing takes its time and nothing of the context
		if err != nil {
			return nil, err
		}
		return k.compare()
	})
	a.matches = sync.OnceValues(func() (*Matches, error) {
		c, err := context()
		if err != nil {
			return nil, err
		}
		x, err := a.failure()
		if err != nil {
			x = nil
		}
		r, err := a.report()
		if err != nil {
			return nil, err
		}
		mu.Lock()
		defer mu.Unlock()
		return c.matches(x, r.Findings)
	})
	return a
}

// Failure is what failed in the old compressor, as far as its evidence goes. An error
// says which number cannot be.
func (a *Assessment) Failure() (*cause.Examination, error) { return a.failure() }

// Choices compares what can be done; some 50 ms.
func (a *Assessment) Choices() (*Choices, error) { return a.choices() }

// Matches holds the candidates against the unit; 10 ms each.
func (a *Assessment) Matches() (*Matches, error) { return a.matches() }

// Job is the job that is assessed.
func (a *Assessment) Job() *record.Job { return a.job }

// Report is every finding, and how far the steps are. The error means that the
// program's own data are damaged; whatever is wrong with the job stands in the
// report.
func (a *Assessment) Report() (*Report, error) { return a.report() }

// Causes ranks what may be wrong with the running unit. It takes longer than the
// report, some 10 ms and for the first job of a refrigerant some more. An error
// means that the readings cannot belong to a unit of this size and refrigerant,
// and says why.
func (a *Assessment) Causes() (*Diagnosis, error) { return a.causes() }

// CompressorMap lays the readings over the compressor's map. It is nil without an
// error while the map or a reading it takes is missing.
func (a *Assessment) CompressorMap() (*Mapped, error) { return a.mapped() }

// OldAgainstNew compares the parts that the new compressor changes: one row each
// for compressor, capacitor, contactor, breaker and wire quantities, SI, in the
// order of [supply.Tables.OldNew]. A row that a finding judges bears its word.
func (a *Assessment) OldAgainstNew() ([]supply.Row, error) { return a.oldNew() }

// Run is the report of a job that nothing else is asked of.
func Run(j *record.Job) (*Report, error) { return New(j).Report() }

// findings computes every finding.
func (c *context) findings() ([]Finding, error) {
	fs := []Finding{}
	for _, d := range definitions {
		if d.applies != nil && !d.applies(c) {
			continue
		}
		f, err := c.find(d)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", d.key, err)
		}
		fs = append(fs, f)
	}
	return fs, nil
}

// report is the findings with all that follows from them.
func (c *context) report() (*Report, error) {
	fs, err := c.findings()
	if err != nil {
		return nil, err
	}
	r := &Report{Job: c.job.ID, Demo: c.job.Demo, Site: c.site.si, Findings: fs, Problems: c.problems()}
	r.Cycle = c.cycle()
	r.Rise = c.riseCurve()
	r.Pull = c.pullCurve()
	r.Trim, _ = c.trim() // what is wrong with it is the finding's to say
	r.BuildUp = c.buildUp()
	r.Tasks = c.tasks(r.Findings)
	r.Clocks = c.clocks()
	if r.Sets, err = c.sets(); err != nil {
		return nil, err
	}
	c.readLogsOnce()
	r.Logs = c.steadily.logs
	ms := c.matters(r.Findings, r.Problems)
	reasons, err := c.reserve(ms)
	if err != nil {
		return nil, err
	}
	r.Gates = c.gates(ms)
	r.Steps = c.states(r, ms)
	for i := range r.Steps {
		r.Steps[i].Reason = reasons[r.Steps[i].Step]
	}
	r.Against = c.against(ms)
	return r, nil
}
