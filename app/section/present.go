package section

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"retrostage/app/chart"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/entry"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// presenter turns what was found into what is shown, in one system of units at one
// site.
type presenter struct {
	system units.System
	site   float64 // Pa
	fluid  string  // the refrigerant
}

// present is the presenter of a revision: what a report says is shown at the
// site it was made for.
func (in Input) present(r *assess.Report) presenter {
	return presenter{in.System, r.Site, in.Shown.Job().Text(record.Refrigerant)}
}

// figure writes v with the decimals that its uncertainty allows: two figures of
// it when it begins with 1 or 2, else one. Without an uncertainty it is written as a
// limit is.
func figure(v, half float64) string {
	if !(half > 0) || math.IsInf(half, 0) {
		return limit(v)
	}
	return figureTo(v, decimals(half))
}

func decimals(half float64) int {
	e := int(math.Floor(math.Log10(half)))
	if half/math.Pow(10, float64(e)) < 2.95 {
		e--
	}
	return clampInt(-e, 0, 4)
}

func clampInt(v, lo, hi int) int { return max(lo, min(hi, v)) }

// zero keeps a small negative number from being written as "-0.0".
func zero(v float64, dec int) float64 {
	if math.Abs(v) < 0.5*math.Pow(10, -float64(dec)) {
		return 0
	}
	return v
}

// figureTo writes v with that many decimals, thousands in groups; nought is 0.
func figureTo(v float64, dec int) string {
	if zero(v, dec) == 0 {
		return "0"
	}
	whole, frac, point := strings.Cut(strconv.FormatFloat(v, 'f', dec, 64), ".")
	n, _ := strconv.ParseFloat(whole, 64)
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign = "-"
	}
	whole = sign + entry.Number(math.Abs(n))
	if point {
		return whole + "." + frac
	}
	return whole
}

// limit writes the value of a limit as a person would: up to four figures, no idle
// zeros.
func limit(v float64) string {
	return tidy(v, places(v))
}

// places is how many decimals a limit is written with.
func places(v float64) int {
	return clampInt(3-int(math.Floor(math.Log10(math.Max(math.Abs(v), 1e-3)))), 0, 3)
}

// bound writes an end of a band so that what is shown is never laxer than what is
// judged: a lower end (side 1) is rounded up, an upper one (side -1) down.
func bound(v, side float64) string {
	if side == 0 {
		return limit(v)
	}
	step := math.Pow(10, -float64(places(v)))
	n := v / step
	if near := math.Round(n); math.Abs(near-n) < 1e-6*math.Max(1, math.Abs(n)) {
		n = near // what conversion leaves
	} else if side > 0 {
		n = math.Ceil(n)
	} else {
		n = math.Floor(n)
	}
	return limit(n * step)
}

// yesOrNo tells a finding that has no quantity, only what was found: it gets no
// axis and no figure.
func yesOrNo(f assess.Finding) bool {
	is := func(v float64) bool { return v == 0 || v == 1 }
	ends := func(p *float64) bool { return p == nil || is(*p) }
	return f.Measured && f.Dim == units.Ratio && f.U == 0 && is(f.Value) &&
		(f.Band.Low != nil || f.Band.High != nil) && ends(f.Band.Low) && ends(f.Band.High) && f.Band.Target == nil
}

// tidy writes v with at most that many decimals, no idle zeros.
func tidy(v float64, dec int) string {
	t := figureTo(v, dec)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	return t
}

var verdicts = map[assess.Verdict]widget.Verdict{
	assess.Within: widget.Within, assess.Outside: widget.Outside, assess.TooClose: widget.TooClose,
	assess.NotMeasured: widget.NotMeasured, assess.NotJudged: widget.NotJudged,
}

// Sentence begins a text with a capital.
func Sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// finding is what the strip of f shows.
func (s presenter) finding(f assess.Finding) widget.Finding {
	u := units.Preferred(f.Dim, s.system)
	out := widget.Finding{Key: f.Key, Label: f.Label, Verdict: verdicts[f.Verdict], Next: Sentence(f.Next)}
	if w := Sentence(string(f.Verdict)); w != out.Verdict.Word() {
		out.Word = w
	}
	if out.Next == "" {
		out.Next = Sentence(f.Reason)
	}
	from := func(head, text string) {
		if text != "" {
			out.From = append(out.From, [2]string{head, text})
		}
	}
	if f.Measured && !yesOrNo(f) {
		v, half := u.FromSI(f.Value, s.site), u.Span(f.Expanded())
		out.Figure, out.Unit = figure(v, half), u.Label
		if half > 0 {
			out.Uncertainty = "± " + figure(half, half)
		}
		out.Scale = chart.Scale{Value: v, Half: half, Has: true}
	}
	conv := func(p *float64, side float64) (*float64, string) {
		if p == nil {
			return nil, ""
		}
		v := u.FromSI(*p, s.site)
		return &v, bound(v, side)
	}
	out.Scale.Low, out.Low = conv(f.Band.Low, 1)
	out.Scale.High, out.High = conv(f.Band.High, -1)
	out.Scale.Target, out.Target = conv(f.Band.Target, 0)

	from("Formula", f.Formula)
	var in []string
	for _, i := range f.Inputs {
		if !i.Idle {
			in = append(in, s.input(i))
		}
	}
	if in == nil && yesOrNo(f) {
		in = []string{"what was answered"}
	} else if in == nil && f.Measured {
		in = []string{"the logged readings"}
	}
	from("From", strings.Join(in, "\n"))
	from("Method", f.Method)
	if f.Source != "" {
		src := f.Source
		if f.Confidence != "" {
			src += " (" + string(f.Confidence) + ")"
		}
		from("Limit", src)
	}
	if f.Measured && f.U > 0 {
		from("Uncertainty", fmt.Sprintf("± %s %s is %.2g standard uncertainties, about 95 %% (JCGM 100)", figure(u.Span(f.Expanded()), u.Span(f.Expanded())), u.Label, f.K))
	}
	if f.Settle != "" && f.Settle != f.Next {
		from("Would settle it", f.Settle)
	}
	if f.Reason != "" && Sentence(f.Reason) != strings.TrimSuffix(out.Next, ".") && Sentence(f.Reason) != out.Next {
		from("Why not", Sentence(f.Reason))
	}
	return out
}

func (s presenter) input(i assess.Input) string {
	t := i.Label
	t += ": " + s.value(units.Preferred(i.Dim, s.system), i.Value, 2*i.U)
	if i.Share > 0.005 {
		t += fmt.Sprintf(", %.0f %% of the uncertainty", 100*i.Share)
	}
	if i.Doubt != "" {
		t += "; " + i.Doubt
	}
	if i.Shared != "" {
		t += "; same instrument as another reading here"
	}
	return t
}

func (s presenter) value(u units.Unit, si, half float64) string {
	h := u.Span(half)
	t := strings.TrimSpace(figure(u.FromSI(si, s.site), h) + " " + u.Label)
	if h > 0 {
		t += " ± " + figure(h, h)
	}
	return t
}

var widgetStates = map[assess.Progress]widget.State{
	assess.Open: widget.Open, assess.Ready: widget.Ready, assess.Held: widget.Held, assess.Done: widget.Done,
	assess.DoneReserved: widget.DoneReserved, assess.NotYet: widget.NotYet,
}

var kinds = map[record.Kind]widget.Kind{
	record.Text: widget.TextField, record.Note: widget.NoteField, record.Pick: widget.PickField,
	record.Number: widget.NumberField, record.Date: widget.DateField,
}

// field is what the row of f needs. A field of the inch-pound habit keeps its
// own unit; in the metric system the metric one is offered first.
func (s presenter) field(f record.Field) widget.Field {
	out := widget.Field{Key: f.Key.String(), Label: f.Label, Help: f.Help, Kind: kinds[f.Kind], Options: f.Options, Need: f.Need, Keys: slices.Contains(byKeys, f.Key)}
	if f.Kind != record.Number {
		return out
	}
	own, err := units.Lookup(f.Dim, f.Unit)
	if err == nil {
		if s.system == units.SI {
			own = units.Preferred(f.Dim, units.SI)
		}
		out.Unit = own.Label
	}
	if slices.Contains(f.Options, record.OpenLine) {
		out.Word = record.OpenLine
	}
	for _, u := range units.Of(f.Dim) {
		if u.Label != "" {
			out.Units = append(out.Units, u.Label)
		}
	}
	if f.Key == record.RecoveryLevel {
		out.Units = append(out.Units, vacuumSide)
	}
	return out
}

// vacuumSide is the scale of a gauge below the air's pressure. It is no unit of the
// record: what is typed in it is kept as gauge pressure below 0, and as typed.
const vacuumSide = "inHg vacuum"

// below hands a number typed in inches of vacuum on as one that says so itself.
func below(text, unit string) (string, string) {
	if unit != vacuumSide {
		return text, unit
	}
	if strings.TrimSpace(text) != "" && !strings.ContainsFunc(text, unicode.IsLetter) {
		text += " inHg"
	}
	return text, ""
}

func unitLabel(f record.Field, name string) string {
	if u, err := units.Lookup(f.Dim, name); err == nil {
		return u.Label
	}
	return name
}

func unitName(f record.Field, label string) string {
	if u, err := units.Lookup(f.Dim, label); err == nil {
		return u.Name
	}
	return label
}
