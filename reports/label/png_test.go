package label

import (
	"bytes"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

func picture(t *testing.T, j *record.Job) []byte {
	t.Helper()
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WritePNG(&b, j, r); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The picture is as large as the label when it is printed by the size it states, and
// another program reads both the size and the code: ImageMagick and zbar.
func TestPictureIsTrueSizeAndDecoded(t *testing.T) {
	b := picture(t, demo(t))
	c, err := png.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []struct {
		dots int
		mm   float64
	}{{c.Width, Width}, {c.Height, Height}} {
		if got := float64(s.dots) / 300 * 25.4; math.Abs(got-s.mm) > 0.1 {
			t.Errorf("%d dots are %.2f mm at 300 to the inch, want %g", s.dots, got, s.mm)
		}
	}
	name := filepath.Join(t.TempDir(), "label.png")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if tool, err := exec.LookPath("identify"); err == nil {
		out, err := exec.Command(tool, "-units", "PixelsPerCentimeter", "-format", "%x %y", name).Output()
		if err != nil || !strings.HasPrefix(string(out), "118.1") {
			t.Errorf("another program reads %q dots to the centimetre, %v", out, err)
		}
	} else {
		t.Log("ImageMagick is not here: the stated size is not read by another program")
	}
	if _, err := exec.LookPath("zbarimg"); err != nil {
		t.Skip("zbarimg is not here: .ci/setup installs it")
	}
	r, err := assess.Run(demo(t))
	if err != nil {
		t.Fatal(err)
	}
	got, err := exec.Command("zbarimg", "-q", "--raw", name).Output()
	if want := strings.Join(Lines(demo(t), r), "\n"); err != nil || strings.TrimSpace(string(got)) != want {
		t.Errorf("decoded\n%s\nwritten\n%s\n%v", got, want, err)
	}
}

// What does not fit is refused, not cut.
func TestPictureRefusesWhatDoesNotFit(t *testing.T) {
	j := demo(t)
	set(t, j, record.OldUnitSerial, strings.Repeat("W123456 ", 120), "")
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WritePNG(&b, j, r); err == nil || b.Len() > 0 {
		t.Errorf("%v, %d bytes", err, b.Len())
	}
	set(t, j, record.OldUnitSerial, strings.Repeat("W", 90), "") // one word, wider than the column
	picture(t, j)
}
