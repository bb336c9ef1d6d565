package assess

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
)

// evaluation is a relation with the readings of one job in it.
type evaluation struct {
	relation relation
	in       []*reading // by input; nil where an optional one is not there
	used     []*reading // the readings of one finding, each once; then the site's pressure where a gauge reading is among them
	place    []int      // where the reading of each input stands in used
	site     int        // where the site's pressure does, -1 if it is not used
	x        values
	out      []float64
	sitePa   float64
}

func (c *context) evaluation(r relation, in []*reading) *evaluation {
	e := &evaluation{relation: r, in: in, place: make([]int, len(in)), out: make([]float64, 1), sitePa: c.site.si}
	e.x = values{c: c, names: make([]string, len(in)), x: make([]float64, len(in))}
	gauge := false
	for i, q := range in {
		e.x.names[i], e.place[i] = r.inputs[i].name, -1
		if q == nil {
			continue
		}
		gauge = gauge || q.gauge
		// A reading that is needed twice moves in both places at once.
		if e.place[i] = slices.IndexFunc(e.used, func(u *reading) bool { return u.key == q.key }); e.place[i] < 0 {
			e.place[i] = len(e.used)
			e.used = append(e.used, q)
		}
	}
	e.site = slices.IndexFunc(e.used, func(q *reading) bool { return q.key == siteKey })
	if gauge && e.site < 0 {
		e.site = len(e.used)
		e.used = append(e.used, &c.site)
	}
	return e
}

// at evaluates the relation with v for what is used, as package uncertainty asks.
func (e *evaluation) at(v []float64) ([]float64, error) {
	for i, r := range e.in {
		if e.x.x[i] = math.NaN(); r == nil {
			continue
		}
		if e.x.x[i] = v[e.place[i]]; r.gauge {
			e.x.x[i] += v[e.site]
		}
	}
	y, err := e.relation.eval(&e.x)
	if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
		err = fmt.Errorf("the readings give no number")
	}
	e.out[0] = y
	return e.out, err
}

// nominal are the values as they were read.
func (e *evaluation) nominal() *values {
	for i, r := range e.in {
		if e.x.x[i] = math.NaN(); r != nil {
			e.x.x[i] = e.value(r)
		}
	}
	return &e.x
}

// value of a reading, a gauge reading absolute.
func (e *evaluation) value(r *reading) float64 {
	if r.gauge {
		return r.si + e.sitePa
	}
	return r.si
}

// inputs are what is used, with readings of one instrument correlated by same: sure
// where it is named, open where nobody says whether it was one instrument or two.
func (e *evaluation) inputs(same float64) (q uncertainty.Inputs, sure, open []uncertainty.Pair) {
	q = uncertainty.Inputs{X: make([]float64, len(e.used)), U: make([]float64, len(e.used))}
	for i, r := range e.used {
		q.X[i], q.U[i] = r.si, r.u
		for k, s := range e.used[:i] {
			if !(r.u > 0 && s.u > 0) || r.unit.Dim != s.unit.Dim {
				continue
			}
			p := uncertainty.Pair{I: k, J: i, R: same * r.shares() * s.shares()}
			if r.from != "" && r.from == s.from {
				sure = append(sure, p)
			} else if mayBeOne(r, s) {
				open = append(open, p)
			}
		}
	}
	if sure != nil {
		q.R = uncertainty.Correlated(len(e.used), sure...)
	}
	return q, sure, open
}

// shares is how much of a reading's doubt others of its instrument can share: what the
// steps of the display add is its own.
func (r *reading) shares() float64 {
	if r.u <= 0 || r.step >= r.u {
		return 0
	}
	return math.Sqrt(1 - r.step*r.step/(r.u*r.u))
}

// propagate carries the doubt of what is used. Of the pairs that are open those count
// that add to it: where their errors push against each other, two instruments leave
// more doubt than one.
func (e *evaluation) propagate(same float64) (uncertainty.Result, error) {
	q, pairs, open := e.inputs(same)
	res, err := uncertainty.Propagate(e.at, q)
	if err != nil {
		return res, err
	}
	n := len(pairs)
	for _, p := range open {
		if res.Z[0][p.I]*res.Z[0][p.J] > 0 {
			pairs = append(pairs, p)
		}
	}
	if len(pairs) == n {
		return res, nil
	}
	return res.With(uncertainty.Correlated(len(e.used), pairs...)), nil
}

// mayBeOne tells whether two readings may be of one instrument though nobody said so:
// none is named for either, and they are of one class.
func mayBeOne(r, s *reading) bool {
	return r.from == "" && s.from == "" && !r.given && !s.given && r.field != (record.Key{}) && s.field != (record.Key{}) &&
		r.field.Field().Class != "" && r.field.Field().Class == s.field.Field().Class
}

// told lists what was used, with each one's share of the variance.
func (e *evaluation) told(shares []float64) []Input {
	out := []Input{}
	for i, r := range e.used {
		out = append(out, Input{Key: r.key, Label: r.label, Value: e.value(r), U: r.u, Share: shares[i], Doubt: r.doubt, Shared: sharedWith(e.used, i),
			Dim: r.unit.Dim, Assumed: r.given, Unnamed: r.unnamed(), Idle: r.given && shares[i] == 0 && r.u > 0})
	}
	return out
}

var token = regexp.MustCompile(`\{(\??)([a-z]+:)?([^}]*)\}`)

// resolve puts the fields that were entered in the place of the inputs of the
// sheet's template: "" if one is not there.
func (r relation) resolve(in []*reading) string {
	missing := false
	out := token.ReplaceAllStringFunc(r.sheet, func(t string) string {
		p := token.FindStringSubmatch(t)
		if slices.Contains([]string{"f:", "c:", "sat:"}, p[2]) || p[3] == siteKey {
			return t
		}
		i := slices.IndexFunc(r.inputs, func(q input) bool { return q.name == p[3] })
		switch {
		case i >= 0 && in[i] != nil:
			return "{" + p[2] + in[i].key + "}"
		case p[1] == "?":
			return "0"
		}
		missing = true
		return t
	})
	if missing {
		return ""
	}
	return strings.TrimSpace(out)
}
