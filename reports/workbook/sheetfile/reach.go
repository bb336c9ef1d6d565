package sheetfile

import (
	"fmt"
	"strconv"
)

// grid are the sizes of the cells of a sheet: columns in figures, rows in points.
type grid struct {
	wide, high           map[int]float64
	usualWide, usualHigh float64
}

// newGrid is a sheet that says nothing of its sizes: columns 8.43 figures wide and rows 15
// points high, as spreadsheet programs have them (from memory).
func newGrid() grid {
	return grid{map[int]float64{}, map[int]float64{}, 8.43, 15}
}

func (g *grid) usual(wide, high string) {
	if x, err := strconv.ParseFloat(wide, 64); err == nil && x > 0 {
		g.usualWide = x
	}
	if x, err := strconv.ParseFloat(high, 64); err == nil && x > 0 {
		g.usualHigh = x
	}
}

// A figure of the usual letters is 7 points of a screen wide and a column has 5 more, at 96
// to the inch (ECMA-376 part 1, 18.3.1.13, gives the relation; the 7 and 5 from memory).
func (g grid) column(c int) float64 {
	w, ok := g.wide[c]
	if !ok {
		w = g.usualWide
	}
	return (7*w + 5) * 0.75
}

func (g grid) row(r int) float64 {
	if h, ok := g.high[r]; ok {
		return h
	}
	return g.usualHigh
}

// corner is where a corner of a picture lies: in a cell counted from 0, and so far into it.
type corner struct{ row, col, rowOff, colOff string }

func (c *corner) part(name string) *string {
	switch name {
	case "row":
		return &c.row
	case "col":
		return &c.col
	case "rowOff":
		return &c.rowOff
	}
	return &c.colOff
}

// cell is the corner's cell, counted from 1.
func (c corner) cell() (row, col int) {
	row, _ = strconv.Atoi(c.row)
	col, _ = strconv.Atoi(c.col)
	return row + 1, col + 1
}

// anchor is how a drawing holds a picture or a chart to the sheet (ECMA-376 part 1, 20.5).
type anchor struct {
	kind     string
	from, to corner
	now      *corner // the one being read
	cx, cy   string  // the size, where it is stated
}

const emu = 12700 // to the point

func points(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0
	}
	return x / emu
}

// reach is the size in points: stated, or from cell to cell.
func (a anchor) reach(g grid) string {
	w, h := points(a.cx), points(a.cy)
	if a.kind == "twoCellAnchor" {
		w, h = points(a.to.colOff)-points(a.from.colOff), points(a.to.rowOff)-points(a.from.rowOff)
		r0, c0 := a.from.cell()
		r1, c1 := a.to.cell()
		for c := max(1, c0); c < min(c1, MaxCol); c++ {
			w += g.column(c)
		}
		for r := max(1, r0); r < min(r1, MaxRow); r++ {
			h += g.row(r)
		}
	}
	return fmt.Sprintf("%.0f %.0f", w, h)
}
