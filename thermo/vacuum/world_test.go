package vacuum

import (
	"math"
	"math/rand/v2"
)

// A world is a circuit under vacuum with a physics of its own: step by step, none
// of it the fitted form. Walls give off by a power law of the time since pumping
// began; refrigerant diffuses out of a layer of oil with Henry's law at its
// surface; water evaporates from a patch that cools itself, or desorbs from eight
// kinds of site that take it up again; temperature walks within 2 K and takes
// everything with it; the gauge has noise, steps, gain and drift.
type world struct {
	kind   Word
	volume float64 // m3
	speed  float64 // m3/s, pump at the circuit
	pumped float64 // s

	leak            float64 // Pa m3/s
	wall, exponent  float64 // Pa m3/s at one hour
	oilC, oilD      float64 // mol/m3 before pumping, m2/s
	oilA, oilDepth  float64 // m2, m
	oilH            float64 // mol/(m3 Pa)
	patch           float64 // kg of water at isolation
	patchK, patchUA float64 // mol/(s Pa), W/K
	sites           [8]float64
	siteK, siteH    [8]float64 // 1/s, mol/Pa
	temp            float64    // K
	coldest         float64    // K, of the wet patch

	gain, drift, noise, floor float64 // shares, share per s, share, Pa
	step                      float64 // Pa of display
	every                     float64 // s between readings
	jump, jumpTau             float64 // settling after the valve closes: share, s
	seed                      uint64
}

// gassing is the kind of a world whose oil gives off refrigerant in an amount
// that matters, without leak or water.
const gassing = LeakingWet + 1

const (
	worldLeak   = 5 * micron / 60 // Pa/s that matters
	worldVapour = 100 * micron    // Pa that matters
	gasConst    = 8.314462618
)

func logUniform(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(r.Float64()*math.Log(hi/lo))
}

func uniform(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// draw makes a world. A fifth each: tight, leaking, wet, leaking and wet, oil.
func draw(seed uint64) world {
	r := rand.New(rand.NewPCG(seed, 77))
	w := world{
		kind: [...]Word{Tight, Leaking, Wet, LeakingWet, gassing}[r.IntN(5)], seed: seed,
		volume: uniform(r, 4e-3, 15e-3), speed: uniform(r, 0.5e-3, 2e-3), pumped: math.Round(uniform(r, 900, 5400)),
		temp: uniform(r, 288, 308), exponent: uniform(r, 0.8, 1.2),
		oilD: logUniform(r, 3e-10, 2e-9), oilA: uniform(r, 0.01, 0.03), oilDepth: uniform(r, 4e-3, 20e-3), oilH: logUniform(r, 1e-3, 1e-2),
		noise: uniform(r, 0.003, 0.012), floor: uniform(r, 0.2, 1) * micron, step: []float64{1, 1, 5}[r.IntN(3)] * micron, every: []float64{10, 15, 30, 60}[r.IntN(4)],
		gain: 0.03 * r.NormFloat64(), drift: 0.01 / 3600 * r.NormFloat64(), jump: 0.06 * r.NormFloat64(), jumpTau: uniform(r, 10, 30),
	}
	w.coldest = w.temp - uniform(r, 0, 4)
	perMinute := micron / 60 * w.volume // Pa m3/s for 1 micron a minute
	w.wall = logUniform(r, 0.1, 1.5) * perMinute
	// Refrigerant that leaves the oil when pumping ends, micron a minute.
	rate := logUniform(r, 0.02, 2)
	if w.kind == gassing {
		rate = logUniform(r, 25, 250)
	}
	w.oilC = rate * perMinute / (gasConst * w.temp) / w.oilA / math.Sqrt(w.oilD/(math.Pi*w.pumped))
	switch w.kind {
	case Leaking, LeakingWet:
		w.leak = logUniform(r, 1.5, 40) * worldLeak * w.volume
	case Tight, Wet, gassing:
		if r.Float64() < 0.3 {
			w.leak = logUniform(r, 0.02, 0.3) * worldLeak * w.volume
		}
	}
	if w.kind == Wet || w.kind == LeakingWet {
		// So that the pump can hold p at isolation against the water.
		p := logUniform(r, 100, 500) * micron
		if r.IntN(2) == 0 {
			w.patch, w.patchUA = logUniform(r, 2e-6, 2e-4)*w.volume/8e-3*20, logUniform(r, 0.2, 3)
			w.patchK = w.speed * p / (gasConst * w.temp) / (waterPressure(w.coldest) - p)
		} else {
			end := logUniform(r, 4, 40) * p
			end = min(end, 0.8*waterPressure(w.coldest))
			for i := range w.sites {
				w.siteK[i] = logUniform(r, 1.0/3000, 1.0/150)
				w.siteH[i] = uniform(r, 0.5, 4) * w.volume / (gasConst * w.temp) / 8
				w.sites[i] = end * w.siteH[i] * uniform(r, 1, 1.6)
			}
		}
	}
	return w
}

// slope is the true steady rise, Pa/s.
func (w *world) slope() float64 { return w.leak / w.volume }

// run makes readings over seconds of isolation. Parts given as false are left out.
func (w *world) run(seconds float64) (t, p []float64) {
	clean := w.clean(seconds, true)
	r := rand.New(rand.NewPCG(w.seed, 1234))
	start := clean[0]
	for s := w.every; s <= seconds; s += w.every {
		v := clean[int(s)] + w.jump*start*math.Exp(-s/w.jumpTau)
		v *= 1 + w.gain + w.drift*s + w.noise*r.NormFloat64()
		v += w.floor * r.NormFloat64()
		t, p = append(t, s), append(p, max(0, math.Round(v/w.step)*w.step))
	}
	return t, p
}

// clean is the true pressure, Pa, each second from isolation on.
func (w *world) clean(seconds float64, walks bool) []float64 {
	const cells = 24
	r := rand.New(rand.NewPCG(w.seed, 99))
	rt := gasConst * w.temp
	var c [cells]float64
	for i := range c {
		c[i] = w.oilC
	}
	dx := w.oilDepth / cells
	sites, water, ice, warm := w.sites, w.patch, w.coldest, 0.0
	leak, walls, oilP, waterP := 20.0, 0.0, 0.0, 0.0 // partial pressures
	var out []float64
	for s := -w.pumped; s <= seconds; s++ {
		if walks && s >= 0 {
			warm += 0.035*r.NormFloat64() - warm/6000
			warm = max(-2, min(2, warm))
		}
		T := w.temp + warm
		hot := math.Exp(6000 * (1/w.temp - 1/T)) // what activation does to giving off
		since := s + w.pumped + 30
		inLeak := w.leak
		inWall := w.wall * math.Pow(since/3600, -w.exponent) * hot
		// Oil, thinner layers at the surface.
		surface := w.oilH * oilP
		flux := w.oilD * hot / (dx / 2) * (c[0] - surface)
		up := flux
		for i := range c {
			down := 0.0
			if i+1 < cells {
				down = w.oilD * hot / dx * (c[i+1] - c[i])
			}
			c[i] += (down - up) / dx
			up = down
		}
		inOil := flux * w.oilA * rt
		inWater := 0.0
		if s >= 0 || w.patch == 0 {
			for i := range sites {
				rate := w.siteK[i] * hot * (sites[i] - w.siteH[i]*waterP)
				if s >= 0 {
					sites[i] -= rate
				}
				inWater += rate * rt
			}
		}
		if water > 0 && w.patchK > 0 {
			rate := w.patchK * (waterPressure(max(200, ice+warm)) - waterP)
			ice += (w.patchUA*(w.coldest-ice) - rate*45e3) / 400 // 100 g of copper or thereabouts
			if s >= 0 {
				water -= rate * 18e-3
			}
			inWater += rate * rt
		}
		pump := 0.0
		if s < 0 {
			pump = w.speed / w.volume
		}
		for _, x := range [...]struct {
			p  *float64
			in float64
		}{{&leak, inLeak}, {&walls, inWall}, {&oilP, inOil}, {&waterP, inWater}} {
			*x.p = (*x.p + x.in/w.volume) / (1 + pump)
		}
		if s >= 0 {
			out = append(out, (leak+walls+oilP+waterP)*T/w.temp)
		}
	}
	return out
}
