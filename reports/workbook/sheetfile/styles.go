package sheetfile

import (
	"strconv"
	"strings"
)

// style is what of a cell's format decides what a person sees.
type style struct{ format, look string }

// builtin are number formats that files name by number only (ECMA-376 part 1,
// 18.8.30, from memory; those that this program's workbooks and the programs
// tried here use).
var builtin = map[int]string{0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00", 14: "mm-dd-yy", 49: "@"}

// tables are the parts of the table of styles that a look is made of.
type tables struct {
	formats map[int]string
	fonts   []string // ink and size
	fills   []string
	borders []string // "" or crossed
	cells   []style
	rules   []string // for conditional formats

	signs    bool // the theme's letters are signs
	recolour bool // the theme's dark is not dark, or its light not light
	recounts bool // the table that counts colours was written anew, and its black is none
}

func (f *File) styles() ([]style, error) {
	t, err := f.tables()
	if err != nil {
		return nil, err
	}
	return t.cells, nil
}

func (f *File) dxf(i int) string {
	t, err := f.tables()
	if err != nil || i < 0 || i >= len(t.rules) {
		return "no such format"
	}
	return t.rules[i]
}

func (f *File) tables() (*tables, error) {
	if f.looks != nil {
		return f.looks, nil
	}
	t := &tables{formats: map[int]string{}}
	part := ""
	rs, err := f.relations(f.main)
	if err != nil {
		return nil, err
	}
	for _, r := range rs {
		switch r.kind {
		case "styles":
			part = r.target
		case "theme":
			if err := f.theme(r.target, t); err != nil {
				return nil, err
			}
		}
	}
	if part == "" {
		f.looks = t
		return t, nil
	}
	r := styleReader{t: t}
	if err := f.scan(part, func(k kind, s *scanner) error { r.step(k, s); return nil }); err != nil {
		return nil, err
	}
	if t.recounts { // the table of colours stands behind what is painted by it
		for i := range t.cells {
			t.cells[i].look = strings.ReplaceAll(t.cells[i].look, "indexed ", "indexed anew ")
		}
		for i := range t.rules {
			t.rules[i] = strings.ReplaceAll(t.rules[i], "indexed ", "indexed anew ")
		}
	}
	f.looks = t
	return t, nil
}

// theme reads of the theme what changes how letters look.
func (f *File) theme(part string, t *tables) error {
	if _, ok := f.parts[part]; !ok {
		return nil
	}
	in := ""
	return f.scan(part, func(k kind, s *scanner) error {
		n := s.local()
		switch {
		case k == end && n == in:
			in = ""
		case k != start:
		case n == "dk1" || n == "lt1":
			in = n
		case n == "latin" || n == "ea" || n == "cs":
			t.signs = t.signs || symbols(attrText(s.attr, "typeface"))
		case in != "" && (n == "srgbClr" || n == "sysClr"):
			c := attrText(s.attr, "val")
			if n == "sysClr" {
				c = attrText(s.attr, "lastClr")
				if v := attrText(s.attr, "val"); v != map[string]string{"dk1": "windowText", "lt1": "window"}[in] {
					t.recolour = true
				}
			}
			t.recolour = t.recolour || c != "" && isDark(c) != (in == "dk1")
		case in != "": // made lighter or darker
			t.recolour = true
		}
		return nil
	})
}

// isDark tells a colour nearer to black than to white.
func isDark(rgb string) bool {
	x, err := strconv.ParseUint(rgb, 16, 32)
	return err == nil && 0.30*float64(x>>16&255)+0.59*float64(x>>8&255)+0.11*float64(x&255) < 128
}

// styleReader walks the table of styles.
type styleReader struct {
	t         *tables
	in        string // cellXfs, fonts, fills, dxfs
	ink, size string
	odd       string // what makes its letters others than they are
	ground    string
	rule      []string
	pattern   string
	crossed   string
	counted   int // colours of a table written anew
}

func (r *styleReader) step(k kind, s *scanner) {
	n := string(s.name)
	switch n {
	case "fonts", "fills", "cellXfs", "dxfs", "cellStyleXfs", "borders":
		if k == start && !s.self {
			r.in = n
		} else if k == end {
			r.in = ""
		}
		return
	}
	if k == start {
		r.open(n, s)
	}
	if k == end || k == start && s.self {
		r.close(n)
	}
}

func (r *styleReader) open(n string, s *scanner) {
	a := s.attr
	switch n {
	case "numFmt":
		id, _ := strconv.Atoi(attrText(a, "numFmtId"))
		code := numberFormat(attrText(a, "formatCode"))
		if r.in == "dxfs" {
			if code != "General" {
				r.rule = append(r.rule, "prints "+code)
			}
			return
		}
		r.t.formats[id] = code
	case "font":
		r.ink, r.size, r.odd = "", "", ""
	case "fill":
		r.ground, r.pattern = "", ""
	case "patternFill":
		r.pattern = attrText(a, "patternType")
	case "gradientFill":
		r.pattern = "that runs"
	case "color":
		r.ink = r.colour(a)
	case "scheme":
		if v := attrText(a, "val"); r.t.signs && v != "none" {
			r.odd += " in signs"
		}
	case "border":
		if r.crossed = ""; truth(get(a, "diagonalUp")) || truth(get(a, "diagonalDown")) {
			r.crossed = " crossed out"
		}
	case "rgbColor":
		if c := attrText(a, "rgb"); (r.counted == 0 || r.counted == 8) && !isDark(c) {
			r.t.recounts = true
		}
		r.counted++
	case "sz":
		x, _ := strconv.ParseFloat(attrText(a, "val"), 64)
		r.size = strconv.FormatFloat(x, 'g', 4, 64)
	case "strike":
		if v := get(a, "val"); v == nil || truth(v) {
			r.odd += " struck out"
		}
	case "name", "charset":
		v := attrText(a, "val")
		if symbols(v) || n == "charset" && v == "2" { // of symbols: ECMA-376 part 1, 18.4.1, from memory
			r.odd += " in signs"
		}
	case "alignment":
		// Turned, or so far from the edge that it may stand outside of its cell.
		in, _ := strconv.Atoi(attrText(a, "indent"))
		if t := attrText(a, "textRotation"); r.in == "cellXfs" && (t != "" && t != "0" || in > 9 || attrText(a, "horizontal") == "fill") {
			c := &r.t.cells[len(r.t.cells)-1]
			c.look += " turned or moved"
		}
	case "fgColor", "bgColor":
		if r.ground == "" || n == "fgColor" && r.in == "fills" {
			r.ground = r.colour(a)
		}
	case "dxf":
		r.rule = nil
	case "xf":
		if r.in == "cellXfs" {
			r.t.cells = append(r.t.cells, r.cell(a))
		}
	}
}

func (r *styleReader) close(n string) {
	switch n {
	case "font":
		look := r.ink + " " + r.size + r.odd
		if r.in == "fonts" {
			r.t.fonts = append(r.t.fonts, look)
		} else if r.in == "dxfs" && r.ink != "" && r.ink != "000000" {
			r.rule = append(r.rule, "ink "+r.ink)
		}
		if r.in == "dxfs" && r.odd != "" {
			r.rule = append(r.rule, strings.TrimSpace(r.odd))
		}
	case "fill":
		switch {
		case r.pattern == "none":
			r.ground = ""
		case r.pattern == "solid" && r.ground == "" && r.in == "fills": // of no colour told: black
			r.ground = "solid"
		case r.pattern != "" && r.pattern != "solid":
			r.ground = strings.TrimSpace(r.ground + " " + r.pattern)
		}
		if r.in == "fills" {
			r.t.fills = append(r.t.fills, r.ground)
		} else if r.in == "dxfs" && r.ground != "" {
			r.rule = append(r.rule, "ground "+r.ground)
		}
	case "border":
		if r.in == "borders" {
			r.t.borders = append(r.t.borders, r.crossed)
		}
	case "dxf":
		r.t.rules = append(r.t.rules, strings.Join(r.rule, ", "))
	}
}

func (r *styleReader) cell(a []byte) style {
	pick := func(list []string, name string) string {
		i, err := strconv.Atoi(attrText(a, name))
		if err != nil || i < 0 || i >= len(list) {
			return ""
		}
		return list[i]
	}
	id, _ := strconv.Atoi(attrText(a, "numFmtId"))
	format, ok := r.t.formats[id]
	if !ok {
		if format, ok = builtin[id]; ok {
			format = numberFormat(format)
		} else {
			format = "built in " + strconv.Itoa(id)
		}
	}
	return style{format, pick(r.t.fonts, "fontId") + pick(r.t.borders, "borderId") + " on " + pick(r.t.fills, "fillId")}
}

// symbols tells a font whose letters are signs, by the names that programs bring.
func symbols(name string) bool {
	low := strings.ToLower(name)
	for _, n := range []string{"dings", "symbol", "marlett", "webdings", "signs", "outlook", "mt extra", "icons", "emoji"} {
		if strings.Contains(low, n) {
			return true
		}
	}
	return false
}

// colour is the colour without its transparency, which programs disagree on; made
// lighter or darker, or of a theme whose black is none, it says so.
func (r *styleReader) colour(a []byte) string {
	c := colour(a)
	if x, err := strconv.ParseFloat(attrText(a, "tint"), 64); err == nil && (x > 0.01 || x < -0.01) {
		c += " tinted"
	}
	if r.t.recolour && strings.HasPrefix(c, "theme ") {
		c += " anew"
	}
	return c
}

func colour(a []byte) string {
	if c := strings.ToUpper(attrText(a, "rgb")); c != "" {
		if len(c) == 8 {
			c = c[2:]
		}
		return c
	}
	for _, n := range []string{"theme", "indexed"} {
		if v := attrText(a, n); v != "" {
			return n + " " + v
		}
	}
	return ""
}
