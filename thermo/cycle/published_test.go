package cycle

import "math"

// measured is a published curve of a fault: capacity and power over the faultless
// value at a fault of size f and outdoor air of out, C, with return air of 26.7 C
// (80 F) dry and 19.44 C (67 F) wet bulb.
type measured func(f, out float64) (capacity, power float64)

// nist is one quantity of Domanski, Henderson and Payne, NIST Technical Note 1848,
// 2014: tests of a residential R-410A split heat pump with thermostatic valve, as
// carried by two open building simulation projects:
// Y = 1 + (a1 + a2 T_in + a3 T_out + a4 F) F, F the charge over the right one, less 1.
func nist(a [4]float64, f, out float64) float64 {
	return 1 + (a[0]+a[1]*26.7+a[2]*out+a[3]*f)*f
}

func nistUnder(f, out float64) (float64, float64) {
	return nist([4]float64{-0.946, 0.0493, -0.00118, -1.15}, -f, out), nist([4]float64{-0.313, 0.0115, 0.00266, -0.116}, -f, out)
}

func nistOver(f, out float64) (float64, float64) {
	return nist([4]float64{-0.163, 0.0114, -0.00021, -0.140}, f, out), nist([4]float64{0.219, -0.00501, 0.000989, 0.284}, f, out)
}

// nrel is Cheung and Braun, NREL/TP-5500-65030, 2015, fitted to laboratory tests,
// as carried by an open fault library of the same laboratory: coefficients for
// capacity and for power over capacity.
func nrel(q, eir [6]float64, cop float64) measured {
	one := func(c [6]float64, f, out float64) float64 {
		return 1 + f*(c[0]+c[1]*(19.44+273.15)/273.15+c[2]*(out+273.15)/273.15+c[3]*f+c[4]*f*f+c[5]*cop)
	}
	return func(f, out float64) (float64, float64) {
		x := one(q, f, out)
		return x, x * one(eir, f, out)
	}
}

var (
	nrelUnder = nrel([6]float64{-1.6119, -1.9681, 2.5514, -0.98803, 0.34675, 0.10109}, [6]float64{7.0958, -1.0132, -4.9319, 0.69788, 1.2677, -0.065184}, 5.5)
	nrelAir   = nrel([6]float64{1.3037, -0.76356, -0.61117, -0.013457, -0.26911, 0.020726}, [6]float64{-4.5864, 5.7081, -1.5167, -0.13863, 1.2189, 0.070849}, 5.5)
	// Packaged units, rated COP 4.2.
	nrelUnderP = nrel([6]float64{7.7179, -10.765, 3.129, -0.88403, 0.30043, -0.036993}, [6]float64{-5.7419, 8.6709, -4.4104, 1.2489, 1.2095, 0.36051}, 4.2)
	nrelOverP  = nrel([6]float64{-0.667351, 0.417386, 0.091732, 0.812637, -0.30102, -0.1014}, [6]float64{0.191888, -0.256732, -0.05316, -0.716681, 0.381224, 0.1241}, 4.2)
)

// average is Cutler, Winkler, Kruis, Christensen and Brandemuehl,
// NREL/TP-5500-56354, 2013: one-speed units on average, wet bulb of the return air
// and outdoor air in F, relative to 67/95 F.
func average(wb, od float64) (capacity, power float64) {
	at := func(c [6]float64) float64 {
		return c[0] + c[1]*wb + c[2]*wb*wb + c[3]*od + c[4]*od*od + c[5]*wb*od
	}
	q := at([6]float64{3.670270705, -0.098652414, 0.000955906, 0.006552414, -0.0000156, -0.000131877})
	return q, q * at([6]float64{-3.302695861, 0.137871531, -0.001056996, -0.012573945, 0.000214638, -0.000145054})
}

// averageAir is the same report's curve of indoor air over rated.
func averageAir(x float64) (capacity, power float64) {
	q := 0.718605468 + 0.410099989*x - 0.128705457*x*x
	return q, q * (1.32299905 - 0.477711207*x + 0.154712157*x*x)
}

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

var _ = math.Abs
