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
	cells   []style
	rules   []string // for conditional formats
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
		if r.kind == "styles" {
			part = r.target
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
	f.looks = t
	return t, nil
}

// styleReader walks the table of styles.
type styleReader struct {
	t          *tables
	in         string // cellXfs, fonts, fills, dxfs
	ink, size  string
	odd        string // what makes its letters others than they are
	ground     string
	rule       []string
	patternOff bool
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
		r.ground, r.patternOff = "", false
	case "patternFill":
		r.patternOff = attrText(a, "patternType") == "none"
	case "color":
		r.ink = colour(a)
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
			r.ground = colour(a)
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
		if r.patternOff {
			r.ground = ""
		}
		if r.in == "fills" {
			r.t.fills = append(r.t.fills, r.ground)
		} else if r.in == "dxfs" && r.ground != "" {
			r.rule = append(r.rule, "ground "+r.ground)
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
	return style{format, pick(r.t.fonts, "fontId") + " on " + pick(r.t.fills, "fillId")}
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

// colour is the colour without its transparency, which programs disagree on.
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
