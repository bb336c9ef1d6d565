package fluid

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// batchHeader is the header of Batch's output.
const batchHeader = "T_K,p_Pa,rho_kg_m3,h_J_kg,s_J_kgK,cp_J_kgK\n"

// noAnswer is a line of empty cells.
const noAnswer = ",,,,,\n"

// Batch reads comma-separated lines "fluid,kind,T_K,p_Pa" from r and writes a
// header and then one line "T_K,p_Pa,rho_kg_m3,h_J_kg,s_J_kgK,cp_J_kgK" for
// every line of r, in order, with twelve digits: an answer can be found by its
// line number. Only a header on the first line of r has no answer of its own,
// ours stands for it.
//
// kind is sat-bubble or sat-dew, with either T_K or p_Pa left empty (with both
// given, the temperature counts and the pressure must agree within 1e-6), or
// single, with both; single between the lines is refused. Blank lines and lines
// that begin with # are answered by empty cells. So is a line that cannot be
// answered; its reason goes to complaints (if not nil) with its line number,
// and the batch goes on; then, at the end, Batch returns a *BatchError that
// counts them. Other errors are those of r and w.
func Batch(r io.Reader, w io.Writer, complaints ...io.Writer) error {
	in := bufio.NewReaderSize(r, 1<<16)
	out := bufio.NewWriterSize(w, 1<<16)
	if _, err := out.WriteString(batchHeader); err != nil {
		return err
	}
	var bad BatchError
	line := make([]byte, 0, 160)
	for n := 1; ; n++ {
		text, readErr := in.ReadSlice('\n')
		long := readErr == bufio.ErrBufferFull
		for readErr == bufio.ErrBufferFull { // an endless line is one bad line
			_, readErr = in.ReadSlice('\n')
		}
		if readErr != nil && readErr != io.EOF {
			return errors.Join(readErr, out.Flush())
		}
		if readErr == io.EOF && len(text) == 0 {
			break
		}
		if n == 1 {
			text = bytes.TrimPrefix(text, []byte("\ufeff"))
		}
		text = bytes.TrimSpace(text)
		if long {
			text = []byte("line too long")
		}
		switch {
		case n == 1 && bytes.HasPrefix(text, []byte("fluid,")):
			continue
		case len(text) == 0 || text[0] == '#':
			line = append(line[:0], noAnswer...)
		default:
			bad.Lines++
			s, err := answer(string(text))
			if err == nil {
				line = appendAnswer(line[:0], &s)
				break
			}
			line = append(line[:0], noAnswer...)
			if bad.Failed++; bad.First == nil {
				bad.First = fmt.Errorf("line %d: %w", n, err)
			}
			for _, c := range complaints {
				if c == nil {
					continue
				}
				if _, err := fmt.Fprintf(c, "line %d: %v\n", n, err); err != nil {
					return errors.Join(err, out.Flush())
				}
			}
		}
		if _, err := out.Write(line); err != nil {
			return err
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	if bad.Failed > 0 {
		return &bad
	}
	return nil
}

func appendAnswer(line []byte, s *State) []byte {
	for i, x := range [...]float64{s.T, s.P, s.Rho, s.H, s.S, s.Cp} {
		if i > 0 {
			line = append(line, ',')
		}
		line = strconv.AppendFloat(line, x, 'g', 12, 64)
	}
	return append(line, '\n')
}

// A BatchError says how many lines of a batch could not be answered; Lines
// counts those that asked something.
type BatchError struct {
	Lines, Failed int
	First         error
}

func (e *BatchError) Error() string {
	return fmt.Sprintf("%d of %d lines could not be answered; the first: %v", e.Failed, e.Lines, e.First)
}

// Unwrap returns the first line's error.
func (e *BatchError) Unwrap() error { return e.First }

// answer computes one line of a batch.
func answer(text string) (State, error) {
	name, rest, ok1 := strings.Cut(text, ",")
	kind, rest, ok2 := strings.Cut(rest, ",")
	ts, ps, ok3 := strings.Cut(rest, ",")
	if !ok1 || !ok2 || !ok3 || strings.Contains(ps, ",") {
		return State{}, fmt.Errorf("%.60q is not fluid,kind,T_K,p_Pa", text)
	}
	f, err := Get(strings.TrimSpace(name))
	if err != nil {
		return State{}, err
	}
	t, hasT, err := cell("T_K", ts)
	if err != nil {
		return State{}, err
	}
	p, hasP, err := cell("p_Pa", ps)
	if err != nil {
		return State{}, err
	}
	line := bubble
	switch strings.TrimSpace(kind) {
	case "single":
		if !hasT || !hasP {
			return State{}, errors.New("single needs both T_K and p_Pa")
		}
		s, err := f.TP(t, p)
		if err == nil && s.Phase == TwoPhase {
			return State{}, fmt.Errorf("%s at %.9g K and %.9g Pa: %w", f.name, t, p, ErrTwoPhase)
		}
		return s, err
	case "sat-bubble":
	case "sat-dew":
		line = dew
	default:
		return State{}, fmt.Errorf("kind %.40q is none of sat-bubble, sat-dew, single", kind)
	}
	switch {
	case hasT:
		s, err := f.saturated(line, t)
		if err == nil && hasP && !(math.Abs(p/s.P-1) < 1e-6) {
			err = fmt.Errorf("%s line at %.9g K is at %.9g Pa, not %.9g Pa: leave one empty", line, t, s.P, p)
		}
		return s, err
	case hasP:
		return f.saturatedAtP(line, p)
	}
	return State{}, fmt.Errorf("%s needs T_K or p_Pa", strings.TrimSpace(kind))
}

func cell(name, s string) (x float64, given bool, err error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, false, nil
	}
	x, err = strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, false, fmt.Errorf("%s %.40q is not a finite number", name, s)
	}
	return x, true, nil
}
