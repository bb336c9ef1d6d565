package fluid

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"
	"sync"

	"retrostage/assets"
)

// file is the layout of assets/refrigerants/<name>.json.
type file struct {
	Name     string  `json:"name"`
	Class    string  `json:"safety_class"`
	Kind     string  `json:"kind"`
	Citation string  `json:"citation"`
	M        float64 `json:"molar_mass_kg_mol"`
	R        float64 `json:"gas_constant_J_molK"`
	Reducing point   `json:"reducing"`
	Critical point   `json:"critical"`
	Limits   struct {
		Tmin float64 `json:"T_min_K"`
		Tmax float64 `json:"T_max_K"`
		Pmax float64 `json:"p_max_Pa"`
	} `json:"limits"`
	Ideal      ideal  `json:"ideal"`
	Residual   []term `json:"residual"`
	Saturation struct {
		P       ancillary `json:"p_guess"`
		BubbleP ancillary `json:"bubble_p"`
		DewP    ancillary `json:"dew_p"`
		RhoL    ancillary `json:"liquid_rho_guess"`
		RhoV    ancillary `json:"vapour_rho_guess"`
	} `json:"saturation"`
}

type point struct {
	T   float64 `json:"T_K"`
	P   float64 `json:"p_Pa"`
	Rho float64 `json:"rho_mol_m3"`
}

// mixtureFile is the layout of assets/refrigerants/mixtures.json.
type mixtureFile struct {
	Pairs []struct {
		First     string  `json:"first"`
		Second    string  `json:"second"`
		Citation  string  `json:"citation"`
		F         float64 `json:"F"`
		BetaT     float64 `json:"beta_T"`
		GammaT    float64 `json:"gamma_T"`
		BetaV     float64 `json:"beta_v"`
		GammaV    float64 `json:"gamma_v"`
		Departure []term  `json:"departure"`
	} `json:"pairs"`
	Blends []struct {
		Name  string             `json:"name"`
		Mass  map[string]float64 `json:"mass_fraction"`
		Class string             `json:"safety_class"`
	} `json:"blends"`
}

// An ancillary is a published curve of temperature along saturation.
type ancillary struct {
	Form string    `json:"form"`
	Tr   float64   `json:"T_r_K"`
	Red  float64   `json:"reducing_value"`
	N    []float64 `json:"n"`
	T    []float64 `json:"t"`
}

// sum returns SUM n theta^t and its derivative by theta, theta = 1 - T/Tr.
func (a *ancillary) sum(t float64) (y, dy float64) {
	th := max(1-t/a.Tr, 0)
	for i, n := range a.N {
		x := n * math.Pow(th, a.T[i])
		y += x
		if th > 0 {
			dy += a.T[i] * x / th
		}
	}
	return y, dy
}

func (a *ancillary) at(t float64) float64 {
	y, _ := a.sum(t)
	switch a.Form {
	case "exp_tau":
		return a.Red * math.Exp(a.Tr/t*y)
	case "exp":
		return a.Red * math.Exp(y)
	}
	return a.Red * (1 + y)
}

// logSlope returns ln y and d(ln y)/dT of a curve of the form exp_tau.
func (a *ancillary) logSlope(t float64) (ln, slope float64) {
	y, dy := a.sum(t)
	return math.Log(a.Red) + a.Tr/t*y, -a.Tr/(t*t)*y - dy/t
}

// Names lists the fluids a person may pick, in the order in which people look for
// them: that of assets/refrigerants/info.json, pure fluids first. Get knows two
// more, R-410A/mixture and R-407C/mixture: the same blends by their components, a
// cross-check of the pseudo-pure equations.
func Names() []string {
	d, err := infos()
	if err != nil {
		return nil
	}
	return slices.Clone(d.Order)
}

var cache = sync.OnceValues(func() (map[string]*Fluid, error) {
	d, err := infos()
	if err != nil {
		return nil, err
	}
	fluids := map[string]*Fluid{}
	for _, name := range d.Order {
		f, err := build(name)
		if err != nil {
			return nil, fmt.Errorf("refrigerant %s: %w", name, err)
		}
		fluids[name] = f
		if f.kind != pseudoPure {
			continue
		}
		if fluids[name+mixture], err = build(name + mixture); err != nil {
			return nil, fmt.Errorf("refrigerant %s: %w", name, err)
		}
	}
	return fluids, nil
})

// mixture ends the name of a blend by its components that has a file too.
const mixture = "/mixture"

// build makes a fluid from its own file, a blend that has none from its components.
func build(name string) (*Fluid, error) {
	if blend, ok := strings.CutSuffix(name, mixture); ok {
		return loadBlend(name, blend)
	}
	f, err := loadFluid(name)
	if errors.Is(err, fs.ErrNotExist) {
		return loadBlend(name, name)
	}
	return f, err
}

// Get returns the fluid of that name as listed by Names (letter case is
// forgiven). The fluid is shared: it is safe for concurrent use.
func Get(name string) (*Fluid, error) {
	fluids, err := cache()
	if err != nil {
		return nil, err
	}
	if f := fluids[name]; f != nil {
		return f, nil
	}
	for n, f := range fluids {
		if strings.EqualFold(n, name) {
			return f, nil
		}
	}
	return nil, fmt.Errorf("unknown refrigerant %q: known are %s", name, strings.Join(Names(), ", "))
}

func readJSON(name string, v any) error {
	b, err := assets.FS.ReadFile("refrigerants/" + name)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, v)
}

func (t term) check() error {
	if t.D < 1 || t.D > maxD || t.L < 0 || t.L > maxL || t.M < 0 || math.IsNaN(t.N+t.T) {
		return fmt.Errorf("term %+v does not fit the compiled form (d 1 to %d, l 0 to %d)", t, maxD, maxL)
	}
	return nil
}

func loadComponent(name string) (*file, component, error) {
	var d file
	if err := readJSON(name+".json", &d); err != nil {
		return nil, component{}, err
	}
	for _, t := range d.Residual {
		if err := t.check(); err != nil {
			return nil, component{}, err
		}
	}
	c := component{
		name: d.Name, m: d.M, r: d.R,
		tr: d.Reducing.T, vr: 1 / d.Reducing.Rho,
		ideal: d.Ideal, terms: d.Residual,
		p: d.Saturation.P, rhoL: d.Saturation.RhoL,
	}
	c.res = compile([]float64{1}, d.Residual)
	if len(c.res.gauss) > maxGauss {
		return nil, component{}, errors.New("too many Gaussian terms")
	}
	return &d, c, nil
}

func loadFluid(name string) (*Fluid, error) {
	d, c, err := loadComponent(name)
	if err != nil {
		return nil, err
	}
	f := &Fluid{
		name: d.Name, citation: d.Citation,
		model: &model{r: d.R, comp: []component{c}},
		z:     vec{1}, res: c.res,
		m: d.M, r: d.R, tr: c.tr, rhor: d.Reducing.Rho,
		tmin: d.Limits.Tmin, tmax: d.Limits.Tmax, pmax: d.Limits.Pmax,
		tc: d.Critical.T, pc: d.Critical.P, rhoc: d.Critical.Rho,
		kind: pure,
	}
	f.class = d.Class
	f.parts = []Part{{d.Name, 1, 1, d.M}}
	if d.Kind == "pseudo-pure" {
		f.kind = pseudoPure
		f.curve[bubble], f.curve[dew] = d.Saturation.BubbleP, d.Saturation.DewP
		f.rhoGuess[bubble], f.rhoGuess[dew] = d.Saturation.RhoL, d.Saturation.RhoV
	}
	return f, nil
}

func loadBlend(name, blend string) (*Fluid, error) {
	var d mixtureFile
	if err := readJSON("mixtures.json", &d); err != nil {
		return nil, err
	}
	// CODATA 2018, for the mixture as a whole: the mole-weighted R of the
	// components would shift the vapour density by about 1e-6.
	m := &model{r: 8.31446261815324}
	f := &Fluid{name: name, kind: blendKind, model: m, r: m.r, tmax: math.Inf(1), pmax: math.Inf(1)}
	var mass map[string]float64
	for _, b := range d.Blends {
		if b.Name == blend {
			mass, f.class = b.Mass, b.Class
		}
	}
	var moles float64
	for _, c := range Names() { // a fixed order of components
		w, ok := mass[c]
		if !ok {
			continue
		}
		file, comp, err := loadComponent(c)
		if err != nil {
			return nil, err
		}
		if len(m.comp) == maxComp {
			return nil, fmt.Errorf("more than %d components", maxComp)
		}
		f.z[len(m.comp)] = w / comp.m
		moles += w / comp.m
		m.comp = append(m.comp, comp)
		f.tmin = max(f.tmin, file.Limits.Tmin)
		f.tmax = min(f.tmax, file.Limits.Tmax)
		f.pmax = min(f.pmax, file.Limits.Pmax)
		f.citation += comp.name + ": " + file.Citation + ". "
	}
	if len(m.comp) < 2 || len(m.comp) != len(mass) {
		return nil, errors.New("blend or one of its components is missing")
	}
	weights, lists := []float64{}, [][]term{}
	for i := range m.comp {
		f.z[i] /= moles
		f.m += f.z[i] * m.comp[i].m
		f.parts = append(f.parts, Part{m.comp[i].name, mass[m.comp[i].name], f.z[i], m.comp[i].m})
		weights, lists = append(weights, f.z[i]), append(lists, m.comp[i].terms)
	}
	at := func(name string) int {
		for i := range m.comp {
			if m.comp[i].name == name {
				return i
			}
		}
		return -1
	}
	for _, p := range d.Pairs {
		i, j := at(p.First), at(p.Second)
		if i < 0 || j < 0 {
			continue
		}
		for _, t := range p.Departure {
			if err := t.check(); err != nil {
				return nil, err
			}
		}
		a, b := &m.comp[i], &m.comp[j]
		m.pairs = append(m.pairs, pair{
			i: i, j: j, betaT: p.BetaT, gamT: p.GammaT, betaV: p.BetaV, gamV: p.GammaV,
			tij: math.Sqrt(a.tr * b.tr), vij: math.Pow(math.Cbrt(a.vr)+math.Cbrt(b.vr), 3) / 8,
			f: p.F, res: compile([]float64{1}, p.Departure),
		})
		weights, lists = append(weights, f.z[i]*f.z[j]*p.F), append(lists, p.Departure)
		f.citation += p.First + " with " + p.Second + ": " + p.Citation + ". "
	}
	if n := len(m.comp); len(m.pairs) != n*(n-1)/2 {
		return nil, errors.New("a pair of components has no published parameters")
	}
	f.citation = strings.TrimSpace(f.citation)
	f.res = compile(weights, lists...)
	var t, v float64
	var tg, vg vec
	var th, vh mat
	m.reduce(&f.z, &t, &v, &tg, &vg, &th, &vh)
	f.tr, f.rhor = t, 1/v
	return f, nil
}
