// Package state answers questions about refrigerants line by line, for scripts.
package state

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"

	"retrostage/thermo/fluid"
)

// Batch answers CSV lines fluid,kind,T_K,p_Pa with their properties, one line
// for each, in order. kind is sat-bubble or sat-dew, with T or p left empty,
// or single, with both. A line that cannot be answered gives empty cells and
// its reason on stderr with the line's number; it does not stop the rest.
func Batch(in io.Reader, out, errs io.Writer) error {
	r := csv.NewReader(bufio.NewReader(in))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	r.ReuseRecord = true
	w := bufio.NewWriter(out)
	defer w.Flush()
	fmt.Fprintln(w, "T_K,p_Pa,rho_kg_m3,h_J_kg,s_J_kgK,cp_J_kgK")
	bad := 0
	for first := true; ; first = false {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		line := 0
		if err == nil {
			line, _ = r.FieldPos(0)
			if first && row[0] == "fluid" {
				continue
			}
		}
		var pe *csv.ParseError
		if errors.As(err, &pe) {
			line = pe.StartLine
		} else if err != nil {
			return err
		}
		var s fluid.State
		if err == nil {
			s, err = answer(row)
		}
		if err != nil {
			bad++
			fmt.Fprintf(errs, "standard input:%d: %v\n", line, err)
			fmt.Fprintln(w, ",,,,,")
			continue
		}
		fmt.Fprintf(w, "%.12g,%.12g,%.12g,%.12g,%.12g,%.12g\n", s.T, s.P, s.Rho, s.H, s.S, s.Cp)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if bad > 0 {
		return fmt.Errorf("%d lines could not be answered", bad)
	}
	return nil
}

func answer(row []string) (s fluid.State, err error) {
	if len(row) != 4 {
		return s, fmt.Errorf("%d cells where fluid,kind,T_K,p_Pa are four", len(row))
	}
	f, err := fluid.Get(row[0])
	if err != nil {
		return s, err
	}
	num := func(name, text string) (x float64) {
		if text == "" || err != nil {
			return 0
		}
		if x, err = strconv.ParseFloat(text, 64); err != nil {
			err = fmt.Errorf("%s: %q is not a number", name, text)
		}
		return x
	}
	t, p := num("T_K", row[2]), num("p_Pa", row[3])
	if err != nil {
		return s, err
	}
	hasT, hasP := row[2] != "", row[3] != ""
	line := func(sat func(float64) (fluid.State, error), tOf func(float64) (float64, error)) (fluid.State, error) {
		if !hasT {
			if !hasP {
				return s, errors.New("give T_K or p_Pa")
			}
			if t, err = tOf(p); err != nil {
				return s, err
			}
		}
		return sat(t)
	}
	switch row[1] {
	case "sat-bubble":
		return line(f.Bubble, f.BubbleT)
	case "sat-dew":
		return line(f.Dew, f.DewT)
	case "single":
		if !hasT || !hasP {
			return s, errors.New("single needs both T_K and p_Pa")
		}
		return f.TP(t, p)
	}
	return s, fmt.Errorf("kind %q is not sat-bubble, sat-dew or single", row[1])
}
