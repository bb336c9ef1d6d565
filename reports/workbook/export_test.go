package workbook

import (
	"strconv"

	"retrostage/reports/workbook/sheetfile"
)

// Derived calls fn for every cell of a workbook that left as a live number:
// where, what the program found, and what the file holds now.
func Derived(f *sheetfile.File, fn func(sheet, cell string, want float64, got sheetfile.Cell)) error {
	s := sealRead{props: map[string]string{}}
	if err := s.load(f); err != nil {
		return err
	}
	pl, _, err := unseal(s.text.String())
	if err != nil {
		return err
	}
	for _, ws := range pl.Sheets {
		sh, ok := find(f.Sheets, ws.Name)
		if !ok {
			continue
		}
		cells := map[string]sheetfile.Cell{}
		if err := f.Cells(sh, func(c sheetfile.Cell) error {
			cells[sheetfile.Name(c.Row, c.Col)] = c
			return nil
		}); err != nil {
			return err
		}
		for _, t := range ws.Cells {
			c, _ := parseSealed(t)
			if c.kind == 'f' {
				name := sheetfile.Name(c.row, c.col)
				fn(ws.Name, name, number(c.value), cells[name])
			}
		}
	}
	return nil
}

func number(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return x
}
