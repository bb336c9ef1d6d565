package fluid

import (
	"math"
	"testing"
	"time"
)

// Ratios are of the shortest of many short turns, taken alternately within one
// run: what the machine is worth cancels, and what else runs on it hardly
// shows. ns/op is the framework's mean over everything.
//
// A direct solution is measured twice: scratch-ns from the components' own
// vapour pressure curves and Raoult's law, as one would solve the equation once
// with nothing prepared; traced-ns from the interpolated knots of the line, so
// that little more than one evaluation is left to do. Only the first is "the
// direct solution"; the second is what this package's Direct functions cost.

// pressures are spread over a line, off any node, as far as a start from
// Raoult's law leads.
func pressures(b *testing.B, f *Fluid, line side) []float64 {
	b.Helper()
	l, err := f.lines()
	if err != nil {
		b.Fatal(err)
	}
	ps := make([]float64, 64)
	e := l[line].ends
	lo := max(e.pmin*1.01, 5e4) // what a unit meets
	for i := range ps {
		ps[i] = lo + (0.65*e.pmax-lo)*(float64(i)+0.37)/64
	}
	return ps
}

var sink float64

// shortest returns the nanoseconds of one call of each function, the shortest
// of many turns of n[k] calls.
func shortest(n []int, fs ...func(i int)) []float64 {
	best := make([]float64, len(fs))
	for turn := range 40 {
		for k, f := range fs {
			start := time.Now()
			for i := range n[k] {
				f(i)
			}
			if ns := float64(time.Since(start).Nanoseconds()) / float64(n[k]); turn == 0 || ns < best[k] {
				best[k] = ns
			}
		}
	}
	return best
}

// scratch solves T of p with nothing prepared.
func scratch(f *Fluid, line side, p float64) (float64, error) {
	if f.kind == pseudoPure { // the published line itself
		return f.curve[line].inverse(p, f.tmin, f.tc)
	}
	n := len(f.model.comp)
	ideal := func(t float64) float64 { // ln p by Raoult's law
		y := f.start(t, line)
		if line == dew {
			return y[0] + math.Log(f.r*t)
		}
		var c float64
		for i := range n {
			c += math.Exp(y[1+i])
		}
		return math.Log(c * f.r * t)
	}
	// Nearly straight over 1/T: the secant through two temperatures, twice.
	t0, t1 := 0.6*f.tr, 0.8*f.tr
	for range 2 {
		a, b := ideal(t0), ideal(t1)
		t0, t1 = t1, 1/(1/t0+(math.Log(p)-a)/(b-a)*(1/t1-1/t0))
	}
	y := f.start(t1, line)
	_, err := f.model.equilibrium(&f.z, &y, atP, p)
	return math.Exp(y[n+1]), err
}

// BenchmarkSatT: T of p, fast line against direct solution.
func BenchmarkSatT(b *testing.B) {
	for _, f := range all(b) {
		for line := bubble; line <= dew; line++ {
			b.Run(f.name+" "+line.String(), func(b *testing.B) {
				ps := pressures(b, f, line)
				check := func(t float64, err error) {
					if err != nil {
						b.Fatal(err)
					}
					sink += t
				}
				for _, p := range ps { // the same answer by all ways
					fast, _ := f.satT(line, p)
					t, err := scratch(f, line, p)
					if check(t, err); !(math.Abs(t/fast-1) < 1e-7) {
						b.Fatalf("%g Pa: %g K from scratch, %g K fast", p, t, fast)
					}
				}
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					check(f.satT(line, ps[n&63]))
					n++
				}
				ns := shortest([]int{2048, 64, 64},
					func(i int) { check(f.satT(line, ps[i&63])) },
					func(i int) { check(scratch(f, line, ps[i&63])) },
					func(i int) { check(f.satTDirect(line, ps[i&63])) })
				b.ReportMetric(ns[0], "fast-ns")
				b.ReportMetric(ns[1], "scratch-ns")
				b.ReportMetric(ns[2], "traced-ns")
				b.ReportMetric(ns[1]/ns[0], "scratch/fast")
				b.ReportMetric(ns[2]/ns[0], "traced/fast")
			})
		}
	}
}

// BenchmarkSatP: p of T likewise, against the traced solution.
func BenchmarkSatP(b *testing.B) {
	for _, f := range all(b) {
		b.Run(f.name, func(b *testing.B) {
			ts := pressures(b, f, dew)
			for i, p := range ts {
				ts[i], _ = f.satT(dew, p)
			}
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				p, err := f.satP(dew, ts[n&63])
				if err != nil {
					b.Fatal(err)
				}
				sink += p
				n++
			}
			ns := shortest([]int{2048, 64},
				func(i int) { p, _ := f.satP(dew, ts[i&63]); sink += p },
				func(i int) { s, _ := f.satDirect(dew, ts[i&63]); sink += s.P })
			b.ReportMetric(ns[0], "fast-ns")
			b.ReportMetric(ns[1]/ns[0], "traced/fast")
		})
	}
}

// BenchmarkEnthalpyTP: h of T and p in superheat, phase not given, against one
// evaluation of the residual part with all its first and second derivatives
// times the iterations that its density takes.
func BenchmarkEnthalpyTP(b *testing.B) {
	for _, f := range all(b) {
		b.Run(f.name, func(b *testing.B) {
			l, err := f.lines()
			if err != nil {
				b.Fatal(err)
			}
			ps := pressures(b, f, dew)
			ts, rhos := make([]float64, len(ps)), make([]float64, len(ps))
			steps := 0
			for i, p := range ps {
				t, err := f.satT(dew, p)
				if err != nil {
					b.Fatal(err)
				}
				ts[i] = min(t+5+5*float64(i%7), f.tmax) // superheat of 5 to 35 K
				s, err := f.TP(ts[i], p)
				if err != nil || s.Phase != Vapour {
					b.Fatal(s.Phase, err)
				}
				rhos[i] = s.Rho / f.m
				var is isotherm
				f.res.at(f.tr/ts[i], &is)
				start, lo, hi := f.guess(l, &is, ts[i], p, Vapour)
				_, n, err := f.densitySteps(&is, ts[i], p, start, lo, hi)
				if err != nil {
					b.Fatal(err)
				}
				steps += n
			}
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				h, err := f.EnthalpyTP(ts[n&63], ps[n&63])
				if err != nil {
					b.Fatal(err)
				}
				sink += h
				n++
			}
			ns := shortest([]int{256, 256, 256},
				func(i int) { h, _ := f.EnthalpyTP(ts[i&63], ps[i&63]); sink += h },
				func(i int) {
					var is isotherm
					f.res.at(f.tr/ts[i&63], &is)
					d := f.res.full(&is, rhos[i&63]/f.rhor)
					sink += d.a + d.d + d.dd + d.t + d.tt + d.dt
				},
				func(i int) { h, _ := f.enthalpyTP(ts[i&63], ps[i&63]); sink += h })
			iterations := float64(steps) / float64(len(ps))
			b.ReportMetric(iterations, "iterations")
			b.ReportMetric(ns[0], "best-ns")
			b.ReportMetric(ns[1], "evaluation-ns")
			b.ReportMetric(ns[0]/(ns[1]*iterations), "h/(evaluations)")
			b.ReportMetric(ns[0]/ns[1], "h/evaluation")
			b.ReportMetric(ns[2], "equation-ns")
			b.ReportMetric(ns[2]/ns[0], "equation/table")
		})
	}
}

// BenchmarkFlash: the other ways in, absolute.
func BenchmarkFlash(b *testing.B) {
	for _, name := range []string{"R-22", "R-410A", "R-454B"} {
		f, err := Get(name)
		if err != nil {
			b.Fatal(err)
		}
		wet, err := f.TQ(280, 0.4)
		if err != nil {
			b.Fatal(err)
		}
		for _, c := range []struct {
			what string
			call func() (State, error)
		}{
			{"TP superheated", func() (State, error) { return f.TP(300, 8e5) }},
			{"TP subcooled", func() (State, error) { return f.TP(300, 2e6) }},
			{"PH wet", func() (State, error) { return f.PH(wet.P, wet.H) }},
			{"PH superheated", func() (State, error) { return f.PH(8e5, 4.3e5) }},
			{"PS superheated", func() (State, error) { return f.PS(2e6, 1.85e3) }},
			{"TQ", func() (State, error) { return f.TQ(280, 0.4) }},
		} {
			b.Run(name+" "+c.what, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					s, err := c.call()
					if err != nil {
						b.Fatal(err)
					}
					sink += s.H
				}
			})
		}
	}
}

// BenchmarkBuild: the cost that the first use of a fluid pays for its two lines.
func BenchmarkBuild(b *testing.B) {
	for _, known := range all(b) {
		b.Run(known.Name(), func(b *testing.B) {
			for b.Loop() {
				f, err := build(known.Name())
				if err == nil {
					_, err = f.lines()
				}
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkBuildGas: the cost that the first enthalpy of a gas pays.
func BenchmarkBuildGas(b *testing.B) {
	for _, f := range all(b) {
		b.Run(f.name, func(b *testing.B) {
			l, err := f.lines()
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				g := f.buildGas(&l[dew], l)
				cells := 0
				for _, n := range g.bands {
					cells += len(n.cells)
				}
				b.ReportMetric(float64(cells), "cells")
			}
		})
	}
}
