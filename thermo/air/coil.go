package air

// Cp is the specific heat of the moist air, J/(K kg of dry air). Chapter 1,
// equation 30, its derivative.
func (s State) Cp() float64 { return dryCp + vapourCp*s.W }

// CondensateH is the enthalpy of liquid water at T (K), J/kg, on the scale of
// moist air's enthalpies. Chapter 1, equation 33: 4.186 kJ/(kg K) from 0 degC.
func CondensateH(T float64) float64 { return waterCp * (T - zero) }

// Cooling is the cooling, W, given to dry air flowing at dryFlow (kg/s) from in
// to out: what the air loses, less what leaves with the condensate at the
// leaving air's temperature (steady-flow energy balance). It is negative where
// the air is heated.
func Cooling(dryFlow float64, in, out State) float64 {
	return dryFlow * (in.H() - out.H() - max(0, in.W-out.W)*CondensateH(out.T))
}

// Sensible is that part of Cooling that lowers the temperature, W, at the
// specific heat of the leaving air.
func Sensible(dryFlow float64, in, out State) float64 {
	return dryFlow * out.Cp() * (in.T - out.T)
}
