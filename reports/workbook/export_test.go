package workbook

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"retrostage/reports/assess"
	"retrostage/reports/workbook/sheetfile"

	"github.com/xuri/excelize/v2"
)

// ForgeSeal writes a workbook whose seal fn has changed, every digest and the
// signature of the key made to fit.
func ForgeSeal(a *assess.Assessment, o Options, fn func(raw []byte) []byte) ([]byte, error) {
	b, raw, err := build(a, o)
	if err != nil {
		return nil, err
	}
	defer b.file.Close()
	raw = fn(raw)
	var pl payload
	if err := json.Unmarshal(raw, &pl); err != nil {
		return nil, err
	}
	b.digest = digest([]byte(pl.Record))
	if err := b.close(raw); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	b.file.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &steadyZip{w: w, level: 4} })
	err = b.file.Write(&out)
	return out.Bytes(), err
}

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

// SignCode is the code that goes with the decision on a record.
func SignCode(record string) string { return signCode(record) }
