package workbook

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// steadyZip collects the parts of a workbook and writes them in one order
// without times, so that the same workbook is the same file.
type steadyZip struct {
	w     io.Writer
	parts []zipPart
	level int // 0 stores: for a file that is read again at once
}

type zipPart struct {
	name string
	data *bytes.Buffer
}

func (z *steadyZip) Create(name string) (io.Writer, error) {
	p := zipPart{name, new(bytes.Buffer)}
	z.parts = append(z.parts, p)
	return p.data, nil
}

func (z *steadyZip) AddFS(fs.FS) error { return errors.New("workbook: no folders go into a workbook") }

var deflaters = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, 4)
	if err != nil {
		panic(err) // 4 is a level
	}
	return w
}}

type deflater struct{ *flate.Writer }

func (d deflater) Close() error {
	err := d.Writer.Close()
	deflaters.Put(d.Writer)
	return err
}

func (z *steadyZip) Close() error {
	slices.SortFunc(z.parts, func(a, b zipPart) int { return strings.Compare(a.name, b.name) })
	w := zip.NewWriter(z.w)
	w.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
		d := deflaters.Get().(*flate.Writer)
		d.Reset(out)
		return deflater{d}, nil
	})
	for _, p := range z.parts {
		method := zip.Deflate
		if z.level == 0 {
			method = zip.Store
		}
		f, err := w.CreateHeader(&zip.FileHeader{Name: p.name, Method: method})
		if err != nil {
			return err
		}
		b := p.data.Bytes()
		switch {
		case p.name == "[Content_Types].xml":
			b = sorted(b)
		case strings.HasPrefix(p.name, "xl/charts/chart"):
			b = valueAxes(b)
		}
		if _, err := f.Write(b); err != nil {
			return err
		}
	}
	return w.Close()
}

var (
	valueAxis    = regexp.MustCompile(`(?s)<valAx>.*?</valAx>`)
	ofCategories = regexp.MustCompile(`<(auto|lblAlgn|lblOffset|noMultiLvlLbl) [^>]*></(auto|lblAlgn|lblOffset|noMultiLvlLbl)>`)
)

// valueAxes takes out of the axes of values what only an axis of categories has: the
// library writes it to both, and the schema of ECMA-376 part 1, 21.2.2.226 (clause
// from memory), has no such elements there.
func valueAxes(b []byte) []byte {
	return valueAxis.ReplaceAllFunc(b, func(axis []byte) []byte { return ofCategories.ReplaceAll(axis, nil) })
}

var contentType = regexp.MustCompile(`<(Default|Override) [^>]*></(Default|Override)>`)

// sorted puts the list of content types in order: the library keeps it in the
// order of a map.
func sorted(b []byte) []byte {
	all := contentType.FindAll(b, -1)
	if len(all) == 0 {
		return b
	}
	at := contentType.FindIndex(b)
	rest := contentType.ReplaceAll(b, nil)
	slices.SortFunc(all, bytes.Compare)
	return slices.Concat(rest[:at[0]], bytes.Join(all, nil), rest[at[0]:])
}
