package fluid

import (
	"fmt"
	"strings"
	"sync"
)

// A Note is a statement with its source and how far to trust it: S read in the
// document named, S2 read in a page that restates it, M from memory, P common
// practice without source.
type Note struct {
	Text   string `json:"text"`
	Source string `json:"source"`
	Mark   string `json:"mark"`
}

// Cited is the source with the note's mark in words.
func (n Note) Cited() string {
	m := marks[n.Mark]
	if m == "" || strings.Contains(n.Source, m) {
		return n.Source
	}
	return n.Source + "; " + m
}

var marks = map[string]string{"S": "read in it", "S2": "read in a page that restates it", "M": "from memory", "P": "common practice, no source"}

// A Part is one component of a blend.
type Part struct {
	Name      string  `json:"name"`
	Mass      float64 `json:"mass_fraction"`
	Mole      float64 `json:"mole_fraction"`
	MolarMass float64 `json:"molar_mass_kg_mol"`
}

// Info is what a person should know of a refrigerant before opening a valve.
// It informs; the equipment's plate and the local code govern.
type Info struct {
	Name          string   `json:"name"`
	Family        string   `json:"family"`
	Class         string   `json:"class"` // ASHRAE 34 safety class, such as A1 or A2L
	ClassNote     Note     `json:"class_note"`
	Flammable     bool     `json:"flammable"` // any class but 1
	Caution       Note     `json:"caution"`   // what the class means at the unit
	Oils          []string `json:"oils"`      // generic families: mineral (or alkylbenzene), POE, PVE
	OilNote       Note     `json:"oil_note"`
	Restrictions  []Note   `json:"restrictions"` // venting, sale, phase-down
	Parts         []Part   `json:"parts"`        // of a blend; one for a pure fluid
	MolarMass     float64  `json:"molar_mass_kg_mol"`
	CriticalT     float64  `json:"critical_T_K"`
	CriticalP     float64  `json:"critical_p_Pa"`
	CriticalRho   float64  `json:"critical_rho_kg_m3"`
	BoilingT      float64  `json:"boiling_T_K"`     // normal boiling point: bubble temperature at 101325 Pa
	BoilingDewT   float64  `json:"boiling_dew_T_K"` // dew temperature at 101325 Pa
	Glide         float64  `json:"glide_1atm_K"`    // BoilingDewT - BoilingT; 0 for a pure fluid
	Citation      string   `json:"citation"`        // of the equation of state
	TwoPhaseModel string   `json:"two_phase_model"` // how saturation is found
}

// Brief is one line for a list: name, class, oil families.
func (i Info) Brief() string {
	s := fmt.Sprintf("%s, %s, %s oil", i.Name, i.Class, strings.Join(i.Oils, " or "))
	if i.Flammable {
		s += ", flammable"
	}
	return s
}

// infoFile is the layout of assets/refrigerants/info.json.
type infoFile struct {
	ClassSource Note              `json:"class_source"`
	Cautions    map[string]Note   `json:"cautions"`
	Oils        map[string]string `json:"oils"`
	Rules       map[string]Note   `json:"rules"`
	Order       []string          `json:"order"` // as people look for them
	Fluids      map[string]struct {
		Family    string   `json:"family"`
		Oils      []string `json:"oils"`
		OilSource Note     `json:"oil_source"`
		Rules     []string `json:"rules"`
	} `json:"fluids"`
}

var infos = sync.OnceValues(func() (infoFile, error) {
	var d infoFile
	err := readJSON("info.json", &d)
	return d, err
})

// Glide returns the temperature glide, K: dew less bubble temperature at the
// same pressure p (Pa). Zero for a pure fluid.
func (f *Fluid) Glide(p float64) (float64, error) {
	if f.kind == pure {
		_, err := f.BubbleT(p)
		return 0, err
	}
	b, err := f.BubbleT(p)
	if err != nil {
		return 0, err
	}
	d, err := f.DewT(p)
	return d - b, err
}

// Info returns the fluid's safety and identity data. Critical point, boiling
// point and glide are computed from the equations, the rest is data with its
// sources.
func (f *Fluid) Info() Info {
	i := f.Data()
	i.CriticalT, i.CriticalP, i.CriticalRho = f.Critical()
	const atm = 101325
	i.BoilingT, _ = f.BubbleT(atm)
	i.BoilingDewT, _ = f.DewT(atm)
	i.Glide, _ = f.Glide(atm)
	return i
}

// Data is Info without what is computed, for which saturation would have to be solved.
func (f *Fluid) Data() Info {
	i := Info{Name: f.name, Class: f.class, MolarMass: f.m, Citation: f.citation}
	i.TwoPhaseModel = [...]string{
		"equal pressure and fugacity of both phases",
		"published bubble and dew line equations (pseudo-pure fluid)",
		"equal fugacity of every component in both phases",
	}[f.kind]
	i.Parts = f.parts
	d, err := infos()
	if err != nil {
		return i
	}
	i.ClassNote = d.ClassSource
	i.Flammable = f.class != "A1" && f.class != "B1"
	i.Caution = d.Cautions[f.class]
	r := d.Fluids[strings.TrimSuffix(f.name, "/mixture")]
	i.Family, i.Oils, i.OilNote = r.Family, r.Oils, r.OilSource
	for _, name := range r.Rules {
		i.Restrictions = append(i.Restrictions, d.Rules[name])
	}
	return i
}

// Reference names a zero point of enthalpy and entropy.
type Reference int

const (
	// IIR: h = 200 kJ/kg and s = 1 kJ/(kg K) for saturated liquid at 0 degC.
	IIR Reference = iota
	// ASHRAE: h = 0 and s = 0 for saturated liquid at -40 degC.
	ASHRAE
)

// Shift returns what to add to this package's h (J/kg) and s (J/(kg K)) of the
// fluid to count from the reference named. For a blend the saturated liquid is
// its bubble point.
func (f *Fluid) Shift(to Reference) (dh, ds float64, err error) {
	t, h, s := 273.15, 200e3, 1e3
	if to == ASHRAE {
		t, h, s = 233.15, 0, 0
	}
	b, err := f.BubbleDirect(t)
	return h - b.H, s - b.S, err
}
