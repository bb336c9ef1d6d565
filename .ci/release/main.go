// Command release makes what a release needs beside the program: the icon, drawn
// here, and the licences of all that is built in.
//
//	release icon DIR            # retrostage.ico and PNGs of several sizes
//	release licences PROGRAM    # licence texts of the modules in PROGRAM, to standard output
package main

import (
	"bytes"
	"debug/buildinfo"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
)

func main() {
	err := errors.New("say icon DIR or licences PROGRAM")
	if len(os.Args) == 3 {
		switch os.Args[1] {
		case "icon":
			err = icons(os.Args[2])
		case "licences":
			err = licences(os.Stdout, os.Args[2])
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// sizes of the icon, pixels.
var sizes = []int{16, 32, 48, 64, 128, 256}

func icons(dir string) error {
	var pngs [][]byte
	for _, n := range sizes {
		var b bytes.Buffer
		if err := png.Encode(&b, draw(n)); err != nil {
			return err
		}
		pngs = append(pngs, b.Bytes())
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("retrostage-%d.png", n)), b.Bytes(), 0o644); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(dir, "retrostage.ico"), ico(pngs), 0o644)
}

// ico packs PNGs into an icon file (six bytes of head, sixteen for each picture;
// from memory).
func ico(pngs [][]byte) []byte {
	var b bytes.Buffer
	put := func(vs ...any) {
		for _, v := range vs {
			binary.Write(&b, binary.LittleEndian, v) // a buffer takes all
		}
	}
	put(uint16(0), uint16(1), uint16(len(pngs)))
	at := 6 + 16*len(pngs)
	for i, p := range pngs {
		side := uint8(sizes[i] % 256) // 0 means 256
		put(side, side, uint8(0), uint8(0), uint16(1), uint16(32), uint32(len(p)), uint32(at))
		at += len(p)
	}
	for _, p := range pngs {
		b.Write(p)
	}
	return b.Bytes()
}

// draw is the icon: two bars, the old stages, that become one.
func draw(n int) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, n, n))
	const fine = 4 // samples a side of a pixel
	for y := range n {
		for x := range n {
			var r, g, b, a int
			for i := range fine * fine {
				c := tone((float64(x)+(float64(i%fine)+0.5)/fine)/float64(n), (float64(y)+(float64(i/fine)+0.5)/fine)/float64(n))
				r, g, b, a = r+int(c.R)*int(c.A), g+int(c.G)*int(c.A), b+int(c.B)*int(c.A), a+int(c.A)
			}
			if a > 0 {
				img.SetNRGBA(x, y, color.NRGBA{uint8(r / a), uint8(g / a), uint8(b / a), uint8(a / (fine * fine))})
			}
		}
	}
	return img
}

// tone is the colour of the icon at a point of the unit square.
func tone(x, y float64) color.NRGBA {
	ground, line, none := color.NRGBA{0x0A, 0x47, 0x4E, 0xFF}, color.NRGBA{0xF2, 0xF4, 0xF0, 0xFF}, color.NRGBA{}
	// A square with round corners.
	const edge, round = 0.04, 0.18
	dx, dy := math.Max(math.Abs(x-0.5)-(0.5-edge-round), 0), math.Max(math.Abs(y-0.5)-(0.5-edge-round), 0)
	if math.Hypot(dx, dy) > round {
		return none
	}
	for _, s := range [][4]float64{{0.18, 0.34, 0.46, 0.34}, {0.18, 0.66, 0.46, 0.66}, {0.46, 0.34, 0.58, 0.5}, {0.46, 0.66, 0.58, 0.5}, {0.58, 0.5, 0.82, 0.5}} {
		if distance(x, y, s) < 0.055 {
			return line
		}
	}
	return ground
}

// distance of a point from a stretch x1, y1, x2, y2.
func distance(x, y float64, s [4]float64) float64 {
	ux, uy := s[2]-s[0], s[3]-s[1]
	t := ((x-s[0])*ux + (y-s[1])*uy) / (ux*ux + uy*uy)
	t = math.Max(0, math.Min(1, t))
	return math.Hypot(x-s[0]-t*ux, y-s[1]-t*uy)
}

var licence = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// licences writes the licence files of every module in a program. A module
// without one is an error: nothing is shipped on terms that nobody has read.
func licences(w io.Writer, program string) error {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return err
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		out, err := exec.Command("go", "mod", "download", "-json", m.Path+"@"+m.Version).Output()
		if err != nil {
			return fmt.Errorf("%s: %w", m.Path, err)
		}
		var at struct{ Dir string }
		if err := json.Unmarshal(out, &at); err != nil {
			return err
		}
		if err := texts(w, m.Path+" "+m.Version, at.Dir); err != nil {
			return err
		}
	}
	out, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	return texts(w, "Go standard library and runtime "+info.GoVersion, string(bytes.TrimSpace(out)))
}

// texts writes the licence files in the folder dir, below a heading.
func texts(w io.Writer, name, dir string) error {
	list, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	found := false
	for _, e := range list {
		if e.IsDir() || !licence.MatchString(e.Name()) {
			continue
		}
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return err
		}
		found = true
		fmt.Fprintf(w, "==== %s: %s ====\n\n%s\n\n", name, e.Name(), bytes.TrimSpace(bytes.ReplaceAll(b, []byte("\r\n"), []byte("\n"))))
	}
	if !found {
		return fmt.Errorf("%s has no licence file", name)
	}
	return nil
}
