package assess

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// A limit in metric numbers is one that a person writes, and never laxer than the rule;
// whatever the rule states in inch-pound units has one.
func TestMetricLimitsAreNeverLaxer(t *testing.T) {
	lim, err := loadLimits()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range lim.Limits {
		d, ok := dimensionOf(r.Finding)
		if !ok {
			continue
		}
		u, err := units.Lookup(d, r.Unit)
		if err != nil {
			t.Fatal(err)
		}
		stated := r.Low != nil || r.High != nil || r.PlusMinus != nil
		if r.SI == nil {
			if stated && u.In(units.SI) != u {
				t.Errorf("%s is stated in %s alone", r.Finding, u.Name)
			}
			continue
		}
		m, err := units.Lookup(d, r.SI.Unit)
		if err != nil || m.In(units.SI) != m {
			t.Errorf("%s: %q is no metric unit of it (%v)", r.Finding, r.SI.Unit, err)
			continue
		}
		const slack = 1e-9
		for _, e := range []struct {
			name     string
			rule, si *float64
			upper    bool
		}{{"low", r.Low, r.SI.Low, false}, {"high", r.High, r.SI.High, true}, {"half-width", r.PlusMinus, r.SI.PlusMinus, true}, {"difference that matters", &r.Matters, &r.SI.Matters, true}} {
			switch {
			case e.rule == nil && e.si == nil:
				continue
			case e.rule == nil || e.si == nil:
				t.Errorf("%s: %s stands in one system only", r.Finding, e.name)
				continue
			}
			rule, got := u.ToSI(*e.rule, 0), m.ToSI(*e.si, 0)
			if e.name == "half-width" || strings.HasPrefix(e.name, "difference") {
				rule, got = u.SpanSI(*e.rule), m.SpanSI(*e.si)
			}
			if e.upper && got > rule+slack || !e.upper && got < rule-slack {
				t.Errorf("%s: %s of %g %s is laxer than %g %s", r.Finding, e.name, *e.si, m.Name, *e.rule, u.Name)
			}
			if rule != 0 && math.Abs(got-rule) > 0.15*math.Abs(rule) && d != units.Temperature {
				t.Errorf("%s: %s of %g %s is far from %g %s", r.Finding, e.name, *e.si, m.Name, *e.rule, u.Name)
			}
			if figures := strings.TrimLeft(strings.ReplaceAll(strconv.FormatFloat(math.Abs(*e.si), 'f', -1, 64), ".", ""), "0"); len(figures) > 3 {
				t.Errorf("%s: nobody writes %g %s", r.Finding, *e.si, m.Name)
			}
		}
	}
}

func dimensionOf(limit string) (units.Dimension, bool) {
	for _, d := range definitions {
		if d.limit == limit {
			return d.dim, true
		}
	}
	return "", false
}

// metricDemo is the demo job with its limits in metric units.
func metricDemo(t testing.TB) *record.Job {
	j := demo(t)
	set(t, j, record.LimitUnits, record.Metric, "")
	return j
}

// The metric limit is the one that is judged by, and nothing that is said of a metric
// job is said in inch-pound units.
func TestMetricJob(t *testing.T) {
	t.Parallel()
	r := run(t, metricDemo(t))
	f := find(t, r, "subcooling")
	if lo, hi := *f.Band.Low, *f.Band.High; math.Abs(hi-lo-3) > 1e-9 {
		t.Errorf("subcooling is held to %g K about its target", (hi-lo)/2)
	}
	// A label 56 g off: 2 oz are 56.7 g, a metric job allows 55.
	for units, want := range map[string]bool{record.InchPound: false, record.Metric: true} {
		j := demo(t)
		set(t, j, record.LimitUnits, units, "")
		set(t, j, record.WeighedIn, "4.000", "kg")
		set(t, j, record.Trimmed, "", "")
		set(t, j, record.LabelCharge, "4.0795", "kg") // with the scale's own doubt on top
		if f := find(t, run(t, j), "label_error"); f.Band.High == nil || (*f.Band.High < 0.0551) != want {
			t.Errorf("%s: %+v", units, f.Band)
		}
	}
	for name, j := range map[string]*record.Job{"as it is": metricDemo(t), "empty": record.New("m")} {
		set(t, j, record.LimitUnits, record.Metric, "")
		r := run(t, j)
		for _, f := range r.Findings {
			for what, s := range map[string]string{"next": f.Next, "settle": f.Settle, "near": f.Near, "reason": f.Reason} {
				if w := inchPoundIn(s); w != "" {
					t.Errorf("%s, %s: its %s speaks of %s: %s", name, f.Key, what, w, s)
				}
			}
		}
		for _, m := range r.Against {
			if w := inchPoundIn(m.Why); w != "" {
				t.Errorf("%s: against signing: %s: %s", name, w, m.Why)
			}
		}
	}
}

// inchPoundIn finds a number in a unit of that habit, which a text does not give in
// metric as well.
func inchPoundIn(s string) string {
	words := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ,;:.()", r) })
	for i, w := range words[min(1, len(words)):] {
		switch w {
		case "°F", "F", "psi", "psig", "micron", "microns", "oz", "cfm", "inHg":
			if strings.ContainsAny(words[i], "0123456789") && !strings.Contains(s, "°C)") {
				return words[i] + " " + w
			}
		}
	}
	return ""
}

func TestInchPoundIn(t *testing.T) {
	for s, want := range map[string]bool{"a rise of 50 micron in 10 min": true, "read to ±0.8 °F (now ±1.1).": true, "6.5 Pa": false, "0.5 psi, say": true, "in ounces": false} {
		if got := inchPoundIn(s) != ""; got != want {
			t.Errorf("%q: %v", s, got)
		}
	}
}
