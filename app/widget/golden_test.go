package widget

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/software"
	"fyne.io/fyne/v2/test"

	"retrostage/app/chart"
	"retrostage/app/theme"
)

var update = flag.Bool("update", false, "write the golden pictures anew; look at them before committing")

func TestMain(m *testing.M) {
	flag.Parse()
	test.NewApp()
	os.Exit(m.Run())
}

// render draws an object at a size with the software driver.
func render(make func() fyne.CanvasObject, w, h float32, p theme.Palette) image.Image {
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: p})
	o := make()
	c := software.NewCanvas()
	c.SetPadded(false)
	c.SetContent(o)
	c.Resize(fyne.NewSize(w, h))
	o.Refresh()
	return c.Capture()
}

// golden compares a drawing with the one in testdata. A few levels of grey in a
// few pixels are allowed: rounding in the letter rasteriser differs between
// processors.
func golden(t *testing.T, name string, got image.Image) {
	t.Helper()
	path := filepath.Join("testdata", name+".png")
	if *update {
		var b bytes.Buffer
		enc := png.Encoder{CompressionLevel: png.BestCompression}
		if err := enc.Encode(&b, got); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	want, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	if got.Bounds() != want.Bounds() {
		t.Fatalf("%s: size %v, want %v", name, got.Bounds(), want.Bounds())
	}
	off := 0
	b := got.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if apart(got.At(x, y), want.At(x, y)) > 24 {
				off++
			}
		}
	}
	if off > b.Dx()*b.Dy()/2000 {
		t.Errorf("%s: %d of %d pixels differ; run with -update, look, and commit if it is meant", name, off, b.Dx()*b.Dy())
	}
}

func apart(a, b color.Color) int {
	p, q := color.NRGBAModel.Convert(a).(color.NRGBA), color.NRGBAModel.Convert(b).(color.NRGBA)
	d := func(x, y uint8) int { return max(int(x)-int(y), int(y)-int(x)) }
	return max(d(p.R, q.R), d(p.G, q.G), d(p.B, q.B))
}

func pf(v float64) *float64 { return &v }

func findings() []Finding {
	return []Finding{
		{Key: "sh", Label: "Suction superheat", Figure: "11.4", Unit: "°F", Uncertainty: "± 1.3 (95 %)", Verdict: Within,
			Scale: chart.Scale{Value: 11.4, Half: 1.3, Has: true, Low: pf(7), High: pf(17), Target: pf(12)}, Low: "7", High: "17", Target: "12",
			Next: "Nothing to do.", From: [][2]string{{"Formula", "suction line temperature - dew temperature at suction pressure"}, {"Source", "common practice, no source"}}},
		{Key: "sc", Label: "Subcooling", Figure: "4.1", Unit: "°F", Uncertainty: "± 1.1", Verdict: Outside,
			Scale: chart.Scale{Value: 4.1, Half: 1.1, Has: true, Low: pf(7), High: pf(13), Target: pf(10)}, Low: "7", High: "13", Target: "10",
			Next: "Below the target: add refrigerant in small steps and let the unit settle for 15 minutes after each.", From: [][2]string{{"Formula", "x"}}},
		{Key: "cap", Label: "Run capacitor under load", Figure: "37.9", Unit: "µF", Uncertainty: "± 1.6", Verdict: TooClose,
			Scale: chart.Scale{Value: 37.9, Half: 1.6, Has: true, Low: pf(37.6), High: pf(42.4), Target: pf(40)}, Low: "37.6", High: "42.4", Target: "40",
			Next: "Read start winding lead current to ±0.08 A (now ±0.3): that would settle it.", From: [][2]string{{"Formula", "x"}}},
		{Key: "rat", Label: "Compression ratio", Figure: "9.2", Uncertainty: "± 0.1", Verdict: Outside,
			Scale: chart.Scale{Value: 9.2, Half: 0.1, Has: true, High: pf(4)}, High: "4", Next: "Above the usual: look at the condenser and the suction pressure."},
		{Key: "pw", Label: "Input power", Figure: "3410", Unit: "W", Uncertainty: "± 60", Verdict: NotJudged, Scale: chart.Scale{Value: 3410, Has: true}, Next: "For the record."},
		{Key: "no", Label: "Discharge superheat", Verdict: NotMeasured, Next: "Enter: Discharge line temperature."},
	}
}

func stack() fyne.CanvasObject {
	c := NewColumn(0, 8)
	for _, f := range findings() {
		c.Add(NewStrip(f))
	}
	return c
}

func TestStripsLook(t *testing.T) {
	golden(t, "strips-wide-light", render(stack, 700, 470, theme.Light))
	golden(t, "strips-narrow-dark", render(stack, 420, 640, theme.Dark))
	open := func() fyne.CanvasObject {
		s := NewStrip(findings()[0])
		s.Open = true
		return s
	}
	golden(t, "strip-open-light", render(open, 640, open().(*Strip).HeightFor(640), theme.Light))
}

func rows() fyne.CanvasObject {
	c := NewColumn(10, 12)
	add := func(f Field, text, wrong, note string) {
		r := NewRow(f)
		r.SetValue(text, "", wrong, note)
		c.Add(r)
	}
	add(Field{Label: "Suction pressure", Kind: NumberField, Units: []string{"psig", "kPa gauge"}, Unit: "psig"}, "118.4", "", "14:02 by low-side gauge")
	add(Field{Label: "Liquid line temperature", Kind: NumberField, Units: []string{"°F", "°C"}, Unit: "°F"}, "9x", `"9x" is not a number`, "")
	add(Field{Label: "Metering device", Kind: PickField, Options: []string{"thermostatic valve", "electronic valve", "fixed orifice"}}, "fixed orifice", "", "")
	add(Field{Label: "Refrigerant on the plate", Kind: PickField, Options: []string{"R-22", "R-32", "R-134a", "R-1234yf", "R-125", "R-410A", "R-407C", "R-454B"}}, "R-410A", "", "")
	add(Field{Label: "Date of visit", Kind: DateField}, "", "", "")
	add(Field{Label: "Why it failed", Kind: NoteField, Help: "x"}, "Grounded start winding.\nBurnt oil.", "", "")
	return NewPanel(theme.Panel, 0, c)
}

func TestRowsLook(t *testing.T) {
	golden(t, "rows-light", render(rows, 400, 620, theme.Light))
	golden(t, "rows-dark", render(rows, 400, 620, theme.Dark))
}

func TestKeypadLook(t *testing.T) {
	k := func() fyne.CanvasObject {
		k := NewKeypad()
		r := NewRow(Field{Label: "Suction pressure", Help: "At the outdoor unit's vapour service port.", Kind: NumberField, Units: []string{"psig", "kPa gauge", "bar gauge", "psia"}, Unit: "psig"})
		k.Aim(r)
		return k
	}
	golden(t, "keypad-light", render(k, 400, k().(*Keypad).HeightFor(400), theme.Light))
}

func TestRouteLook(t *testing.T) {
	route := func() fyne.CanvasObject {
		r := NewRoute(nil)
		r.Set([]Stage{{"Intake", Done, ""}, {"Cause", Done, "1 outside"}, {"Choice", Open, ""}, {"Match", Ready, ""},
			{"Electrical", Held, "enter the new compressor's data first (Match)"}, {"Running check", Held, "weigh the charge in first (Charge)"}}, 2)
		return r
	}
	golden(t, "route-light", render(route, 210, 420, theme.Light))
}

func plane() *chart.Picture {
	d := chart.PH{HLabel: "enthalpy, Btu/lb", PLabel: "pressure, psia (log)"}
	for i := range 60 {
		p := 60 * math.Pow(9, float64(i)/59)
		d.Bubble.P, d.Bubble.H = append(d.Bubble.P, p), append(d.Bubble.H, 30+float64(i)*0.9+float64(i*i)*0.006)
		d.Dew.P, d.Dew.H = append(d.Dew.P, p), append(d.Dew.H, 120+float64(i)*0.15-float64(i*i*i)*0.00012)
	}
	d.Cycle = []chart.Point{{H: 126, P: 130, Name: "suction", HalfH: 0.6, HalfP: 3}, {H: 143, P: 390, Name: "discharge"}, {H: 62, P: 380, Name: "liquid", HalfH: 0.8, HalfP: 6}, {H: 62, P: 130, Name: "after the valve"}}
	d.Ties = []chart.Curve{{H: []float64{40, 121}, P: []float64{130, 130}, Text: "44 °F"}}
	return d.Picture()
}

func TestViewLook(t *testing.T) {
	v := func() fyne.CanvasObject {
		v := NewView(plane())
		v.Work.Now = true
		return v
	}
	golden(t, "plane-light", render(v, 620, 380, theme.Light))
	golden(t, "plane-dark", render(v, 620, 380, theme.Dark))
}
