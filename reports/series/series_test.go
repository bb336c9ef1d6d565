package series

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestDetect(t *testing.T) {
	for name, c := range map[string]struct {
		text      string
		delimiter rune
		comma     bool
		form      string
		units     string
		note      string
	}{
		"comma, IP": {
			"Time,Suction (psig),Liquid line [°F],Supply degF\n2026-07-01 10:00:00,130.1,95.2,58\n2026-07-01 10:00:10,130.3,95.1,58\n",
			',', false, "2006-01-02 15:04:05", "psig F F", ""},
		"semicolon, decimal comma": {
			"Zeit;p0 bar;t0h °C\n01.07.2026 10:00:00;9,95;12,5\n01.07.2026 10:00:10;9,97;12,4\n",
			';', true, "02.01.2006 15:04:05", "bar C", "decimal comma"},
		"tab, elapsed minutes": {
			"elapsed min\tvolts\tamps\n0\t240\t11.2\n0.5\t241\t11.3\n1\t240\t11.1\n",
			'\t', false, Minutes, "V A", "elapsed time in min"},
		"no header, units in cells": {
			"10:00:00,130.1 psig,95.2 F\n10:00:10,130.2 psig,95.3 F\n",
			',', false, "15:04:05", "psig F", "next day"},
		"ambiguous date": {
			"when,t F\n3/4/2026 10:00,70\n3/4/2026 10:01,71\n",
			',', false, "1/2/2006 15:04", "F", "month/day or day/month"},
		"day first by its days": {
			"when,t F\n13/4/2026 10:00,70\n13/4/2026 10:01,71\n",
			',', false, "2/1/2006 15:04", "F", ""},
		"unknown unit": {
			"time s,fan\n0,1\n1,2\n",
			',', false, Seconds, "", "no unit recognised"},
	} {
		l, err := Detect([]byte(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var us []string
		for j, col := range l.Columns {
			if j != l.Time && col.Unit != "" {
				us = append(us, col.Unit)
			}
		}
		got := fmt.Sprintf("%q %v %s %s", l.Delimiter, l.DecimalComma, l.TimeForm, strings.Join(us, " "))
		want := fmt.Sprintf("%q %v %s %s", c.delimiter, c.comma, c.form, c.units)
		if got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
		if !strings.Contains(strings.Join(l.Notes, "\n"), c.note) {
			t.Errorf("%s: notes %q lack %q", name, l.Notes, c.note)
		}
		if _, err := Read([]byte(c.text), l); err != nil {
			t.Errorf("%s: detected, but: %v", name, err)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text  string
		comma bool
		want  float64
		ok    bool
	}{
		{"7.5", false, 7.5, true}, {"7,5", true, 7.5, true}, {"1,234.5", false, 1234.5, true}, {"1.234,5", true, 1234.5, true},
		{" -3 ", false, -3, true}, {"1e-3", false, 1e-3, true}, {"72.3 F", false, 72.3, true}, {"12 m3/h", false, 12, true},
		{"12,34.5", false, 0, false}, {"1,2,3", true, 0, false}, {"7,5", false, 0, false}, {"", false, 0, false}, {"abc", false, 0, false},
		{"10:00", false, 0, false}, {"1e999", false, 0, false}, {"0x10", false, 0, false}, {"1.5.2026", false, 0, false},
	} {
		if got, ok := number(c.text, c.comma); got != c.want && c.ok || ok != c.ok {
			t.Errorf("%q: %v, %v", c.text, got, ok)
		}
	}
}

func TestReadNamesTheLine(t *testing.T) {
	ok := "time s,a F\n0,1\n1,2\n2,3\n"
	l, err := Detect([]byte(ok))
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"time s,a F\n0,1\n1\n":      "line 3 has 1 fields",
		"time s,a F\n0,1\n1,x\n":    `line 3: "x"`,
		"time s,a F\n5,1\n1,2\n":    "line 3: time \"1\" is before",
		"time s,a F\n0,1\nsoon,2\n": "line 3: time",
		"time s,a F\n":              "no readings",
	} {
		if _, err := Read([]byte(text), l); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	if _, err := Detect(make([]byte, MaxBytes+1)); err == nil {
		t.Error("a huge log was accepted")
	}
	if _, err := Detect([]byte("one column\nonly\n")); err == nil {
		t.Error("a single column was accepted")
	}
}

func TestTimesAndMissing(t *testing.T) {
	text := "time,a F,b psig\n23:59:58,70,100\n23:59:59,,101\n00:00:00,71,--\n"
	l, err := Detect([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	g, err := Read([]byte(text), l)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]float64{0, 1, 2}, []float64{g.Seconds(0), g.Seconds(1), g.Seconds(2)}); diff != "" {
		t.Errorf("past midnight: %s", diff)
	}
	if _, ok := g.Value(0, 1); ok {
		t.Error("a blank became a reading")
	}
	if x, ok := g.Value(1, 1); !ok || x != 101 {
		t.Errorf("%v, %v", x, ok)
	}
}

// startUp is an exponential approach to 70 with time constant 120 s, noise sd
// 0.1, then steady; an upset, then steady at 75.
func startUp(seed uint64) *Log {
	rng := rand.New(rand.NewPCG(seed, 1))
	var ts, v []float64
	for s := 0.0; s < 3600; s += 5 {
		x := 70 + 20*math.Exp(-s/120)
		if s >= 1800 {
			x = 75 - 5*math.Exp(-(s-1800)/120)
		}
		ts, v = append(ts, s), append(v, x+0.1*rng.NormFloat64())
	}
	g, err := New(time.Time{}, ts, []Column{{Name: "x"}}, [][]float64{v})
	if err != nil {
		panic(err)
	}
	return g
}

func TestSteadyFindsTheLatestStretch(t *testing.T) {
	for seed := range uint64(20) {
		g := startUp(seed)
		w, err := g.Steady([]Test{{0, 0.2, 0.2}}, 300, 10)
		if err != nil {
			t.Fatal(err)
		}
		s := w.Stats[0]
		if !w.Steady || w.To != g.Len()-1 || g.Seconds(w.From) < 1800 || g.Seconds(w.From) > 2500 {
			t.Errorf("seed %d: %v s to %v s, %+v", seed, g.Seconds(w.From), g.Seconds(w.To), s)
		}
		if math.Abs(s.Mean-75) > 0.1 {
			t.Errorf("seed %d: mean %v", seed, s.Mean)
		}
	}
}

func TestSteadySaysWhyNot(t *testing.T) {
	var ts, v, c []float64
	for i := range 200 {
		ts, v, c = append(ts, float64(i)*5), append(v, 70+0.01*float64(i)*5), append(c, 50)
	}
	g, err := New(time.Time{}, ts, []Column{{Name: "rising"}, {Name: "flat"}}, [][]float64{v, c})
	if err != nil {
		t.Fatal(err)
	}
	w, err := g.Steady([]Test{{0, 1, 1}, {1, 1, 1}}, 300, 10)
	if err != nil || w.Steady || w.Stats[0].Pass || !w.Stats[1].Pass {
		t.Fatalf("%+v, %v", w, err)
	}
	if math.Abs(w.Stats[0].Slope-0.01) > 1e-9 || math.Abs(w.Stats[0].Moved-3) > 1e-6 {
		t.Errorf("drift %+v", w.Stats[0])
	}
	if _, err := g.Steady([]Test{{0, 1, 1}}, 1e4, 10); err == nil {
		t.Error("a log too short was accepted")
	}
}

// The running sums must give what a plain two-pass fit gives.
func TestStatAgainstPlainFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(5, 60).Draw(t, "n")
		ts, v := make([]float64, n), make([]float64, n)
		now, base := 0.0, rapid.Float64Range(-1e4, 1e4).Draw(t, "base")
		for i := range n {
			now += rapid.Float64Range(0.1, 10).Draw(t, "dt")
			ts[i], v[i] = now, base+rapid.Float64Range(-5, 5).Draw(t, "v")
			if rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
				v[i] = math.NaN()
			}
		}
		g, err := New(time.Time{}, ts, []Column{{Name: "x"}}, [][]float64{v})
		if err != nil {
			t.Fatal(err)
		}
		from := rapid.IntRange(0, n-4).Draw(t, "from")
		to := rapid.IntRange(from+3, n-1).Draw(t, "to")
		got, err := g.Over(from, to, []int{0})
		if err != nil {
			t.Fatal(err)
		}
		var k, st, sx float64
		for i := from; i <= to; i++ {
			if x, ok := g.Value(0, i); ok {
				k, st, sx = k+1, st+g.Seconds(i), sx+x
			}
		}
		if int(k) != got[0].N || k < 3 {
			return
		}
		var tt, tx, ee float64
		for i := from; i <= to; i++ {
			if x, ok := g.Value(0, i); ok {
				a := g.Seconds(i) - st/k
				tt, tx = tt+a*a, tx+a*(x-sx/k)
			}
		}
		b := tx / tt
		for i := from; i <= to; i++ {
			if x, ok := g.Value(0, i); ok {
				e := x - sx/k - b*(g.Seconds(i)-st/k)
				ee += e * e
			}
		}
		sd := math.Sqrt(ee / (k - 2))
		if math.Abs(got[0].Mean-sx/k) > 1e-6 || math.Abs(got[0].Slope-b) > 1e-6 || math.Abs(got[0].SD-sd) > 1e-5 {
			t.Fatalf("%+v; plain mean %v slope %v sd %v", got[0], sx/k, b, sd)
		}
	})
}

// A reading that dawdles brings less news per line than one that jumps.
func TestMeanOfDawdlingReadings(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const r = 0.9
	missed := 0
	for range 300 {
		ts, v := make([]float64, 400), make([]float64, 400)
		x := 0.0
		for i := range v {
			x = r*x + math.Sqrt(1-r*r)*rng.NormFloat64()
			ts[i], v[i] = float64(i), x
		}
		g, err := New(time.Time{}, ts, []Column{{Name: "x"}}, [][]float64{v})
		if err != nil {
			t.Fatal(err)
		}
		s, _ := g.Over(0, 399, []int{0})
		if math.Abs(s[0].Mean) > 2*s[0].U {
			missed++
		}
	}
	// About 5 % should miss; ignoring autocorrelation, over half would.
	if missed > 45 {
		t.Errorf("the mean misses by more than 2 u in %d of 300", missed)
	}
}

func FuzzDetectRead(f *testing.F) {
	for _, s := range []string{
		"Time,Suction (psig)\n2026-07-01 10:00:00,130.1\n2026-07-01 10:00:10,130.3\n",
		"t;p\n0;1,5\n1;2,5\n", "10:00\t1\n10:01\t2\n", "a|b\n1|2\n2|\"3\n", "\ufefft,x\n0,\n1,1e300\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := Detect(b)
		if err != nil {
			return
		}
		g, err := Read(b, l)
		if err != nil {
			return
		}
		for i := range g.Len() {
			if i > 0 && g.Seconds(i) < g.Seconds(i-1) {
				t.Fatalf("time runs back at line %d", i)
			}
		}
		for k := range g.Columns {
			s, err := g.Over(0, g.Len()-1, []int{k})
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range []float64{s[0].Mean, s[0].Slope, s[0].SD, s[0].U, s[0].USlope, s[0].Moved} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%+v", s[0])
				}
			}
		}
	})
}

func BenchmarkSteadyHour(b *testing.B) {
	g := startUp(1)
	for b.Loop() {
		if _, err := g.Steady([]Test{{0, 0.2, 0.2}}, 300, 10); err != nil {
			b.Fatal(err)
		}
	}
}

// Over sums up given columns over lines from to to, without judging.
func (g *Log) Over(from, to int, columns []int) ([]Stat, error) {
	if from < 0 || to >= len(g.t) || from > to {
		return nil, fmt.Errorf("series: lines %d to %d; allowed 1 to %d", from+1, to+1, len(g.t))
	}
	out := make([]Stat, len(columns))
	for i, k := range columns {
		if k < 0 || k >= len(g.v) {
			return nil, fmt.Errorf("series: column %d of %d", k+1, len(g.v))
		}
		out[i] = g.stat(from, to, k, newPrefix(g.t, g.v[k]))
	}
	return out, nil
}

// The short way of reading a number is the long one's, to the last bit.
func TestPlainNumbers(t *testing.T) {
	for _, v := range []string{"0", "-0", "-0.0", "7.", "7.5", "-12.25", "0.1", "123456789012345", "12345678901234.", "1.23456789012345", "0.000000000001", "72.3", "999999.999999"} {
		x, ok := plain(v, false)
		y, err := strconv.ParseFloat(v, 64)
		if len(v) <= 15 && (!ok || err != nil || math.Float64bits(x) != math.Float64bits(y)) {
			t.Errorf("%s: %v, %v for %v", v, x, ok, y)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.StringMatching(`-?[0-9]{1,12}([.,][0-9]{0,12})?`).Draw(t, "cell")
		comma := rapid.Bool().Draw(t, "comma")
		x, ok := plain(v, comma)
		y, err := strconv.ParseFloat(strings.Replace(v, map[bool]string{true: ",", false: "."}[comma], ".", 1), 64)
		if ok && (err != nil || math.Float64bits(x) != math.Float64bits(y)) {
			t.Errorf("%s: %v for %v, %v", v, x, y, err)
		}
	})
	for _, v := range []string{"", "-", ".", ".5", "+1", "1.2.3", "1,234", "1e5", "7 F", " 7"} {
		if x, ok := plain(v, false); ok {
			t.Errorf("%q read as %v", v, x)
		}
	}
}
