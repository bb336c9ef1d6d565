// Command retrostage carries the conversion of a two-stage air conditioner to a
// single-stage compressor from the first reading to the signed sheet.
//
// Without arguments it opens the workbench. Each verb does one part of the job
// without a window; see "retrostage --help".
package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/alecthomas/kong"

	"retrostage/app"
	"retrostage/app/console"
	_ "retrostage/app/locale" // before the toolkit reads the environment
	"retrostage/reports/archive"
	"retrostage/reports/assess"
	"retrostage/reports/consent"
	"retrostage/reports/demo"
	"retrostage/reports/label"
	"retrostage/reports/owner"
	"retrostage/reports/queue"
	"retrostage/reports/record"
	"retrostage/reports/register"
	"retrostage/reports/store"
	"retrostage/reports/store/office"
	"retrostage/reports/version"
	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
	"retrostage/thermo/air"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

type cli struct {
	Version kong.VersionFlag `help:"Print the version and the revision of the source, and stop."`

	Open     openCmd     `cmd:"" default:"withargs" help:"Open the workbench (what happens without a verb)."`
	Assess   assessCmd   `cmd:"" help:"Print the findings of a job."`
	Export   exportCmd   `cmd:"" help:"Write the workbook of a job."`
	Owner    ownerCmd    `cmd:"" help:"Write the owner's page of a job as PDF."`
	Consent  consentCmd  `cmd:"" help:"Write the page that the owner signs before work begins, as PDF."`
	Label    labelCmd    `cmd:"" help:"Write the label that goes beside the old plate, PDF or PNG at true size, with a code that holds its text."`
	State    stateCmd    `cmd:"" help:"Properties of a refrigerant; without --fluid, CSV lines from standard input."`
	Air      airCmd      `cmd:"" help:"Properties of moist air."`
	Plan     planCmd     `cmd:"" help:"Plan and prove the single-stage wiring of a unit. Status 0: the proof holds; 3: it fails; 4: not decided; 5: refused."`
	Counter  counterCmd  `cmd:"" name:"countersign" help:"Show the one page of a workbook and sign a decision on it with a supervisor's own key."`
	Register registerCmd `cmd:"" help:"Read a folder of workbooks into one table."`
	Policy   policyCmd   `cmd:"" help:"The office's file of whose keys and signatures count: begin one, look through one, name a key."`
	Jobs     jobsCmd     `cmd:"" help:"The jobs kept on this tablet, without a window."`
	Demo     demoCmd     `cmd:"" help:"Write invented jobs and their workbooks, two in three of them signed or returned by an invented supervisor, for trials."`
	Shots    shotsCmd    `cmd:"" help:"Draw every pane to PNG files, without a display."`
	DemoRun  demoRunCmd  `cmd:"" help:"Open the workbench on the demo job; without a display, write its workbook and pictures instead."`
}

func main() {
	console.Attach()
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

// run carries out one command line and returns the exit status: 0 done (of plan:
// the proof holds), 1 it could not be done, 2 the line was not understood; of
// plan, 3 the proof fails, 4 it is not decided, 5 the unit is refused.
func run(args []string, stdout, stderr io.Writer) int {
	var c cli
	status := -1
	st := &streams{out: stdout, err: stderr}
	k, err := kong.New(&c, kong.Name("retrostage"), kong.Writers(stdout, stderr), kong.UsageOnError(),
		kong.Description("The workbench of a cooling technician who converts a two-stage outdoor unit to a single-stage compressor."),
		kong.Bind(st), kong.Vars{"version": version.String()}, kong.Exit(func(n int) { status = n }))
	if err != nil {
		fmt.Fprintln(stderr, "retrostage:", err)
		return 1
	}
	ctx, err := k.Parse(args)
	if status >= 0 { // --help or --version was answered
		return status
	}
	if err != nil {
		fmt.Fprintln(stderr, "retrostage:", err)
		return 2
	}
	err = ctx.Run()
	if st.jobs != nil {
		err = errors.Join(err, st.jobs.Close())
	}
	if err != nil {
		fmt.Fprintln(stderr, "retrostage:", err)
		if e := (exit{}); errors.As(err, &e) {
			return e.status
		}
		return 1
	}
	return 0
}

// exit is an answer that is no success, with the status that tells it apart.
type exit struct {
	status int
	error
}

type streams struct {
	out, err io.Writer
	jobs     *store.Local // opened by a verb that asks for it
}

// demoName may be given instead of a path wherever a job is asked for.
const demoName = "demo"
const secondName = "demo2"

// loadJob reads the job at path; "demo" is the embedded one.
func loadJob(path string) (*record.Job, error) {
	switch path {
	case demoName:
		return record.Demo()
	case secondName:
		return record.SecondDemo()
	}
	return archive.ReadJob(path)
}

// exporter is how the workbench exports: signed with the key of the file, if one
// is named.
func exporter(keyFile string) func(*record.Job, []workbook.Photo, string, units.System) (string, error) {
	return func(j *record.Job, photos []workbook.Photo, dir string, sys units.System) (string, error) {
		o, err := signing(workbook.Options{System: sys, Photos: photos}, keyFile)
		if err != nil {
			return "", err
		}
		path, err := export(j, dir, o)
		if err != nil {
			return path, err
		}
		return path, counted(j, path, keyFile, o)
	}
}

// signing adds the tablet's key to options, if a file of it is named.
func signing(o workbook.Options, keyFile string) (workbook.Options, error) {
	if keyFile == "" {
		return o, nil
	}
	var err error
	if o.Key, err = workbook.TabletKey(keyFile); err != nil {
		return o, fmt.Errorf("key: %w", err)
	}
	if o.Ledger, err = workbook.OpenLedger(keyFile); err != nil {
		return o, err
	}
	return o, nil
}

// counted remembers an export beside the tablet's key.
func counted(j *record.Job, path, keyFile string, o workbook.Options) error {
	if o.Ledger == nil {
		return nil
	}
	r, err := readBack(path)
	if err != nil {
		return err
	}
	if err := o.Ledger.Keep(r); err != nil {
		return fmt.Errorf("%s is written, but the list of exports beside the key %s is not: %w", path, keyFile, err)
	}
	return nil
}

// export writes the workbook of j into the folder dir and returns its path. A
// workbook of that name that somebody has signed or changed is left alone: the
// new one gets a number.
func export(j *record.Job, dir string, o workbook.Options) (string, error) {
	name := workbook.FileName(j)
	stem := strings.TrimSuffix(name, filepath.Ext(name))
	for n := 1; n < 1000; n++ {
		path := filepath.Join(dir, name)
		if n > 1 {
			path = filepath.Join(dir, fmt.Sprintf("%s_%d%s", stem, n, filepath.Ext(name)))
		}
		if replaceable(path, j.ID) {
			return path, exportTo(j, path, o)
		}
	}
	return "", fmt.Errorf("%s: too many workbooks of this job", dir)
}

// replaceable tells whether nothing is lost by writing the workbook of a job to path:
// there is no file, or it is a workbook of that job that nobody has touched since it
// was exported.
func replaceable(path, job string) bool {
	r, err := readBack(path)
	return errors.Is(err, fs.ErrNotExist) || err == nil && r.State == workbook.AsExported && r.Job != nil && r.Job.ID == job
}

// isWorkbook tells whether path is the workbook of a job, whatever was done to it.
func isWorkbook(path string) bool {
	r, err := readBack(path)
	return err == nil || r.Job != nil
}

func readBack(path string) (workbook.Reading, error) {
	f, err := os.Open(path)
	if err != nil {
		return workbook.Reading{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return workbook.Reading{}, err
	}
	return workbook.Read(f, info.Size())
}

// endsIn refuses a file whose name promises another kind of file.
func endsIn(path, what string, exts ...string) error {
	if slices.Contains(exts, strings.ToLower(filepath.Ext(path))) {
		return nil
	}
	return fmt.Errorf("%s: the %s ends in %s", path, what, strings.Join(exts, " or "))
}

func exportTo(j *record.Job, path string, o workbook.Options) error {
	return archive.Replace(path, func(w io.Writer) error { return workbook.Write(w, assess.New(j), o) })
}

type openCmd struct {
	// What a desktop hands over: a file, or nothing where the program is started from its menu.
	File string `arg:"" optional:"" help:"Job file to open, as --job." type:"path"`
	Job  string `help:"Job file to open; without it, the job changed last." type:"path"`
	Dir  string `help:"Folder where jobs are kept." type:"path"`
	Key  string `help:"File of the tablet's key, made where there is none: workbooks exported from the window are signed with it." type:"path"`
}

func (c openCmd) Run(s *streams) error {
	if c.File != "" {
		if _, err := os.Stat(c.File); c.Job != "" || err != nil {
			return exit{2, fmt.Errorf("%q is no verb (--help), and no job file is there by that name", filepath.Base(c.File))}
		}
		c.Job = c.File
	}
	if !app.HasDisplay() {
		return errors.New("there is no display to open a window on; every other verb works without one (--help)")
	}
	return app.Run(app.Opts{Job: c.Job, Dir: c.Dir, Export: exporter(c.Key)})
}

type assessCmd struct {
	Job  string `arg:"" help:"Job file, or the word demo or demo2."`
	JSON bool   `help:"Print JSON in SI units."`
	SI   bool   `name:"si" help:"Show metric units instead of inch-pound ones."`
}

func (c assessCmd) Run(s *streams) error {
	j, err := loadJob(c.Job)
	if err != nil {
		return err
	}
	if _, signed := j.Signed(); c.SI && !signed { // limits as a metric job has them
		if err := j.Set(record.Entry{Key: record.LimitUnits, Value: record.Metric, Time: time.Now()}); err != nil {
			return err
		}
	}
	all := assess.New(j)
	rep, err := all.Report()
	if err != nil {
		return err
	}
	causes, err := all.Causes()
	if err != nil { // the findings stand all the same
		fmt.Fprintf(s.err, "%s: causes not ranked: %v\n", c.Job, err)
	}
	if c.JSON {
		e := json.NewEncoder(s.out)
		e.SetIndent("", " ")
		e.SetEscapeHTML(false)
		return e.Encode(struct {
			*assess.Report
			Diagnosis *assess.Diagnosis `json:"diagnosis"`
		}{rep, causes})
	}
	sys := units.IP
	if c.SI {
		sys = units.SI
	}
	if rep.Demo {
		fmt.Fprintln(s.out, "DEMO: invented data")
	}
	t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
	for _, f := range rep.Findings {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", f.Label, shown(f, rep.Site, sys), f.Verdict, f.Next)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if causes != nil {
		writeCauses(s.out, causes)
	}
	for _, p := range rep.Problems {
		fmt.Fprintf(s.err, "%s: %s: %s\n", c.Job, p.Key, p.Text)
	}
	return nil
}

// writeCauses tells what may be wrong, likeliest first.
func writeCauses(w io.Writer, d *assess.Diagnosis) {
	fmt.Fprintf(w, "Causes: %s", d.Said())
	switch {
	case len(d.Missing) > 0:
		fmt.Fprintf(w, "; missing: %s", strings.Join(d.Missing, ", "))
	case len(d.Causes) > 0:
		fmt.Fprintf(w, "; that nothing is wrong: %.0f %%", 100*d.Healthy)
	}
	fmt.Fprintln(w)
	for _, c := range d.Causes {
		if c.P >= 0.01 {
			fmt.Fprintf(w, "  %3.0f %%  %s. Next: %s\n", 100*c.P, c.Label, c.Next)
		}
	}
}

// shown is the value of a finding with its expanded uncertainty.
func shown(f assess.Finding, site float64, sys units.System) string {
	if !f.Measured {
		return "-"
	}
	u := units.Preferred(f.Dim, sys)
	v := u.FromSI(f.Value, site)
	if math.Abs(v) < 1e-9 { // what rounding leaves of a difference
		v = 0
	}
	return strings.TrimSpace(fmt.Sprintf("%.4g ± %.2g %s", v, u.Span(f.Expanded()), u.Label))
}

type exportCmd struct {
	Job   string `arg:"" help:"Job file, or the word demo or demo2."`
	Out   string `short:"o" required:"" help:"Workbook to write." type:"path"`
	SI    bool   `name:"si" help:"Metric units instead of inch-pound ones."`
	A4    bool   `name:"a4" help:"A4 paper instead of Letter."`
	Key   string `help:"File of the tablet's key, made where there is none: the workbook is signed with it." type:"path"`
	PDF   string `name:"pdf" help:"The first page as PDF, too." type:"path"`
	Force bool   `help:"Overwrite what is there, whatever it is."`
}

func (c exportCmd) Run(s *streams) error {
	if err := endsIn(c.Out, "workbook", ".xlsx"); err != nil {
		return err
	}
	j, err := loadJob(c.Job)
	if err != nil {
		return err
	}
	var o workbook.Options
	if c.SI {
		o.System = units.SI
	}
	if c.A4 {
		o.Paper = workbook.A4
	}
	if o, err = signing(o, c.Key); err != nil {
		return err
	}
	if o.Key != nil {
		fmt.Fprintf(s.err, "signed by key %s\n", workbook.KeyID(o.Key.Public().(ed25519.PublicKey)))
	}
	if !c.Force && !replaceable(c.Out, j.ID) {
		return fmt.Errorf("%s: there is a file that somebody signed or changed, of another job, or no workbook of this program; name another, or overwrite it with --force", c.Out)
	}
	if c.PDF != "" {
		if err := errors.Join(endsIn(c.PDF, "first page", ".pdf"), mayWrite(c.PDF, c.Force)); err != nil {
			return err
		}
	}
	if err := exportTo(j, c.Out, o); err != nil {
		return err
	}
	if err := counted(j, c.Out, c.Key, o); err != nil {
		return err
	}
	if _, err = fmt.Fprintln(s.out, c.Out); err != nil || c.PDF == "" {
		return err
	}
	return onePage(s, c.Out, c.PDF)
}

// onePage writes the first page of the workbook at path as PDF.
func onePage(s *streams, path, pdf string) error {
	r, err := readBack(path)
	if err != nil {
		return err
	}
	if err := archive.Replace(pdf, r.OnePage); err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, pdf)
	return err
}

type counterCmd struct {
	File     string `arg:"" help:"Workbook as exported." type:"existingfile"`
	Key      string `help:"File of the supervisor's own key, made where there is none; without it the page is shown and nothing is signed." type:"path"`
	Name     string `help:"Who decides."`
	Decision string `help:"accept or return; none is taken for granted." enum:"accept,return," default:""`
	Remarks  string `help:"What is to be said; needed to return."`
	Out      string `short:"o" help:"Workbook to write." type:"path"`
	PDF      string `name:"pdf" help:"The one page as PDF, too." type:"path"`
	Force    bool   `help:"Overwrite what is there."`
}

func (c counterCmd) Run(s *streams) error {
	b, err := archive.Read(c.File, sheetfile.MaxFile)
	if err != nil {
		return err
	}
	r, err := workbook.Verify(context.Background(), b)
	if err != nil {
		return fmt.Errorf("%s: %s: %w", c.File, r.State, err)
	}
	signs := c.Key != "" || c.Decision != ""
	if signs {
		if c.Key == "" || c.Name == "" || c.Decision == "" || c.Out == "" {
			return errors.New("to sign, all of --key, --name, --decision and -o are needed; without --key and --decision the page is shown")
		}
		if err := errors.Join(endsIn(c.Out, "workbook", ".xlsx"), mayWrite(c.Out, c.Force)); err != nil {
			return err
		}
		if c.PDF != "" {
			if err := errors.Join(endsIn(c.PDF, "first page", ".pdf"), mayWrite(c.PDF, c.Force)); err != nil {
				return err
			}
		}
		if r.State != workbook.AsExported {
			return fmt.Errorf("it is %s; only a workbook as exported is countersigned", r.State)
		}
	}
	page, err := r.Text()
	if err != nil {
		return err
	}
	fmt.Fprintln(s.out, page)
	fmt.Fprintf(s.out, "%s: %s; %s.\n", c.File, r.State, r.Check)
	if !signs {
		fmt.Fprintln(s.out, "Nothing was signed: --key, --name, --decision and -o sign it.")
		return nil
	}
	if c.Decision == workbook.Accept && len(r.Undone) > 0 {
		fmt.Fprintf(s.err, "accepted with steps that are not done: %s\n", strings.Join(r.Undone, ", "))
	}
	key, err := workbook.TabletKey(c.Key)
	if err != nil {
		return fmt.Errorf("key: %w", err)
	}
	if err := archive.Replace(c.Out, func(w io.Writer) error {
		return workbook.Countersign(context.Background(), w, b, key, c.Name, c.Decision, c.Remarks, time.Now())
	}); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "countersigned by key %s\n", workbook.KeyID(key.Public().(ed25519.PublicKey)))
	if _, err := fmt.Fprintln(s.out, c.Out); err != nil || c.PDF == "" {
		return err
	}
	return onePage(s, c.Out, c.PDF)
}

type labelCmd struct {
	Job   string `arg:"" help:"Job file, or the word demo or demo2."`
	Out   string `short:"o" required:"" help:"PDF or PNG to write." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c labelCmd) Run(s *streams) error {
	write := label.Write
	if strings.EqualFold(filepath.Ext(c.Out), ".png") {
		write = label.WritePNG
	}
	return page(s, c.Job, c.Out, c.Force, "label", []string{".pdf", ".png"}, func(j *record.Job) (func(io.Writer) error, error) {
		rep, err := assess.Run(j)
		return func(w io.Writer) error { return write(w, j, rep) }, err
	})
}

// page writes a page about a job to a file that ends in one of some ways, unless
// something is there, and says where. What the page takes is worked out before the
// file is begun.
func page(s *streams, job, out string, force bool, what string, ends []string, prepare func(*record.Job) (func(io.Writer) error, error)) error {
	if err := endsIn(out, what, ends...); err != nil {
		return err
	}
	if err := mayWrite(out, force); err != nil {
		return err
	}
	j, err := loadJob(job)
	if err != nil {
		return err
	}
	write, err := prepare(j)
	if err != nil {
		return err
	}
	if err := archive.Replace(out, write); err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, out)
	return err
}

// paper names the size of a printed page.
func paper(a4 bool) string {
	if a4 {
		return "A4"
	}
	return "Letter"
}

type ownerCmd struct {
	Job   string `arg:"" help:"Job file, or the word demo or demo2."`
	Out   string `short:"o" required:"" help:"PDF to write." type:"path"`
	A4    bool   `name:"a4" help:"A4 paper instead of Letter."`
	Call  string `help:"Whom the owner calls: name and number; without it what the job says, else the setting of the workbench."`
	Dir   string `help:"Folder where jobs, and that setting, are kept." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c ownerCmd) Run(s *streams) error {
	return page(s, c.Job, c.Out, c.Force, "owner's page", []string{".pdf"}, func(j *record.Job) (func(io.Writer) error, error) {
		dir, setting := c.Dir, ""
		if dir == "" {
			dir, _ = archive.Dir() // no folder, no setting
		}
		if dir != "" {
			var err error
			if setting, err = owner.Calls(dir); err != nil {
				return nil, err
			}
		}
		rep, err := assess.Run(j)
		return func(w io.Writer) error { return owner.Write(w, j, rep, paper(c.A4), owner.Whom(j, c.Call, setting)) }, err
	})
}

type consentCmd struct {
	Job   string `arg:"" help:"Job file, or the word demo or demo2."`
	Out   string `short:"o" required:"" help:"PDF to write." type:"path"`
	A4    bool   `name:"a4" help:"A4 paper instead of Letter."`
	Force bool   `help:"Overwrite what is there."`
}

func (c consentCmd) Run(s *streams) error {
	var of *assess.Assessment
	err := page(s, c.Job, c.Out, c.Force, "consent", []string{".pdf"}, func(j *record.Job) (func(io.Writer) error, error) {
		of = assess.New(j)
		return func(w io.Writer) error { return consent.Write(w, of, paper(c.A4)) }, nil
	})
	if err != nil || c.Job == demoName || c.Job == secondName {
		return err
	}
	if err := noteConsent(c.Job, of, time.Now()); err != nil {
		_, err = fmt.Fprintf(s.err, "the page is not noted in the job, and a signature on it is a person's word there: %v\n", err)
		return err
	}
	return nil
}

// noteConsent enters in the job's file that the page was written of it, as the workbench
// does, so that the owner's yes is held to what the page said. A file that changed
// meanwhile is left alone.
func noteConsent(path string, of *assess.Assessment, at time.Time) error {
	mark, err := consent.Mark(of)
	if err != nil {
		return err
	}
	j, err := archive.ReadJob(path)
	if err != nil {
		return err
	}
	if j.Text(record.ConsentPage) == mark {
		return nil // one that says the same was noted
	}
	was, errWas := of.Job().Encode()
	is, errIs := j.Encode()
	switch {
	case errWas != nil || errIs != nil:
		return errors.Join(errWas, errIs)
	case !bytes.Equal(was, is):
		return errors.New("its file was changed while the page was written: write it again")
	}
	if err := j.Set(record.Entry{Key: record.ConsentPage, Value: mark, Time: at}); err != nil {
		return err
	}
	return archive.WriteJob(path, j)
}

type stateCmd struct {
	Fluid     string   `help:"Refrigerant, R-410A for example."`
	T         string   `name:"t" help:"Temperature with its unit: 280K, 44.6F."`
	P         string   `name:"p" help:"Pressure with its unit: 800kPa (absolute), 118psig (at sea level). Without it: saturation at --t."`
	Q         *float64 `name:"q" help:"Vapour quality by mass, 0 to 1, with --t or --p: a wet state."`
	Reference string   `enum:"iir,ashrae" default:"iir" help:"Zero of enthalpy and entropy: iir (200 kJ/kg and 1 kJ/(kg K) for the liquid at 0 °C) or ashrae (0 for the liquid at -40 °C)."`
	Direct    bool     `help:"Saturation by iterating the full equation, for a check of the fast lines."`
	JSON      bool     `help:"Print JSON in SI units."`
	List      bool     `help:"Name the refrigerants and stop."`
	Info      bool     `help:"What to know of the refrigerant: class, oils, critical point, glide, restrictions."`
}

// at is the temperature (K) and pressure (Pa) asked for, 0 where none is.
func (c stateCmd) at() (t, p float64, err error) {
	const sea = 101325
	if c.T != "" {
		if t, err = units.Quantity(units.Temperature, c.T, sea); err != nil {
			return 0, 0, fmt.Errorf("--t %w", err)
		}
	}
	if c.P != "" {
		if p, err = units.Quantity(units.Pressure, c.P, sea); err != nil {
			return 0, 0, fmt.Errorf("--p %w", err)
		}
	}
	return t, p, nil
}

// named is a state with the word it is shown under.
type named struct {
	name string
	fluid.State
}

func (c stateCmd) states(f *fluid.Fluid) ([]named, error) {
	t, p, err := c.at()
	if err != nil {
		return nil, err
	}
	one := func(s fluid.State, err error) ([]named, error) { return []named{{"state", s}}, err }
	both := func(b fluid.State, err1 error, d fluid.State, err2 error) ([]named, error) {
		return []named{{"bubble", b}, {"dew", d}}, cmp.Or(err1, err2)
	}
	switch hasT, hasP := c.T != "", c.P != ""; {
	case c.Direct && (c.Q != nil || hasT == hasP):
		return nil, errors.New("--direct is saturation: give --t or --p alone")
	case c.Q != nil && hasT == hasP:
		return nil, errors.New("--q goes with --t or with --p")
	case c.Q != nil && hasT:
		return one(f.TQ(t, *c.Q))
	case c.Q != nil:
		return one(f.PQ(p, *c.Q))
	case hasT && hasP:
		return one(f.TP(t, p))
	case c.Direct:
		return c.direct(f, t, p)
	case hasT:
		b, err1 := f.Bubble(t)
		d, err2 := f.Dew(t)
		return both(b, err1, d, err2)
	case hasP:
		b, err1 := f.BubbleAtP(p)
		d, err2 := f.DewAtP(p)
		return both(b, err1, d, err2)
	}
	return nil, errors.New("give --t, --p or both")
}

// direct is saturation at t or, if t is 0, at p, from the full equation.
func (c stateCmd) direct(f *fluid.Fluid, t, p float64) ([]named, error) {
	tb, td := t, t
	if t == 0 {
		var err1, err2 error
		tb, err1 = f.BubbleTDirect(p)
		td, err2 = f.DewTDirect(p)
		if err := cmp.Or(err1, err2); err != nil {
			return nil, err
		}
	}
	b, err1 := f.BubbleDirect(tb)
	d, err2 := f.DewDirect(td)
	of := func(s fluid.Sat, phase fluid.Phase) fluid.State {
		return fluid.State{T: s.T, P: s.P, Rho: s.Rho, H: s.H, S: s.S, Phase: phase}
	}
	return []named{{"bubble", of(b, fluid.Liquid)}, {"dew", of(d, fluid.Vapour)}}, cmp.Or(err1, err2)
}

func (c stateCmd) Run(s *streams) error {
	switch {
	case c.List:
		_, err := fmt.Fprintln(s.out, strings.Join(fluid.Names(), "\n"))
		return err
	case c.Fluid == "" && (c.T != "" || c.P != ""):
		return errors.New("say which refrigerant: --fluid R-410A")
	case c.Fluid == "":
		return fluid.Batch(os.Stdin, s.out, s.err)
	}
	f, err := fluid.Get(c.Fluid)
	if err != nil {
		return err
	}
	var states []named
	if !(c.Info && c.T == "" && c.P == "") {
		if states, err = c.states(f); err == nil {
			err = c.refer(f, states)
		}
		if err != nil {
			return err
		}
	}
	if c.JSON {
		return c.json(s.out, f, states)
	}
	if c.Info {
		if err := c.info(s.out, f.Info()); err != nil {
			return err
		}
	}
	return c.table(s.out, f, states)
}

// refer counts enthalpy and entropy from the reference asked for.
func (c stateCmd) refer(f *fluid.Fluid, states []named) error {
	if c.Reference != "ashrae" {
		return nil
	}
	dh, ds, err := f.Shift(fluid.ASHRAE)
	for i := range states {
		states[i].H += dh
		states[i].S += ds
	}
	return err
}

func (c stateCmd) json(w io.Writer, f *fluid.Fluid, states []named) error {
	i := f.Info()
	m := map[string]any{"fluid": f.Name(), "class": i.Class, "flammable": i.Flammable, "oil": i.Oils, "glide_1atm_K": i.Glide}
	if c.Info {
		m["info"] = i
	}
	for _, st := range states {
		v := map[string]any{"phase": st.Phase.String(), "T_K": st.T, "p_Pa": st.P, "rho_kg_m3": st.Rho, "h_J_kg": st.H, "s_J_kgK": st.S}
		switch { // heat capacities and sound belong to one phase
		case st.Phase == fluid.TwoPhase:
			v["quality"] = st.Q
		case !c.Direct:
			v["cp_J_kgK"], v["cv_J_kgK"], v["w_m_s"] = st.Cp, st.Cv, st.W
		}
		m[st.name] = v
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(m)
}

func (c stateCmd) table(w io.Writer, f *fluid.Fluid, states []named) error {
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, st := range states {
		label := st.name
		if label == "state" {
			label = st.Phase.String()
		}
		last := fmt.Sprintf("cp %.4f kJ/(kg K)", st.Cp/1e3)
		switch {
		case st.Phase == fluid.TwoPhase:
			last = fmt.Sprintf("quality %.4f", st.Q)
		case c.Direct:
			last = "by the full equation"
		}
		fmt.Fprintf(tw, "%s %s\tT %.3f K (%.2f °F)\tp %.3f kPa abs\trho %.4f kg/m3\th %.3f kJ/kg\ts %.5f kJ/(kg K)\t%s\n",
			f.Name(), label, st.T, st.T*9/5-459.67, st.P/1e3, st.Rho, st.H/1e3, st.S/1e3, last)
	}
	return tw.Flush()
}

// info prints a refrigerant's safety and identity data, each note with its
// source and mark.
func (stateCmd) info(w io.Writer, i fluid.Info) error {
	fmt.Fprintln(w, i.Brief())
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "critical\t%.2f K\t%.1f kPa abs\t%.1f kg/m3\n", i.CriticalT, i.CriticalP/1e3, i.CriticalRho)
	fmt.Fprintf(t, "boils at 1 atm\t%.2f K\tglide %.2f K\t\n", i.BoilingT, i.Glide)
	for _, p := range i.Parts {
		if len(i.Parts) == 1 {
			break
		}
		fmt.Fprintf(t, "part\t%s\t%.1f %% by mass\t\n", p.Name, 100*p.Mass)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, n := range append([]fluid.Note{i.Caution, i.OilNote}, i.Restrictions...) {
		fmt.Fprintf(w, "%s [%s]\n", n.Text, n.Cited())
	}
	_, err := fmt.Fprintf(w, "equation: %s\n", i.Citation)
	return err
}

type airCmd struct {
	T        string   `name:"t" required:"" help:"Dry bulb with its unit: 80F."`
	RH       *float64 `name:"rh" xor:"wet" required:"" help:"Relative humidity, percent."`
	WetBulb  string   `xor:"wet" required:"" help:"Wet bulb with its unit: 67F."`
	DewPoint string   `xor:"wet" required:"" help:"Dew point with its unit."`
	Altitude string   `default:"0m" help:"Height of the site with its unit, for the standard atmosphere's pressure."`
	JSON     bool     `help:"Print JSON in SI units."`
}

// state is the air asked for.
func (c airCmd) state() (air.State, error) {
	none := air.State{}
	z, err := units.Quantity(units.Length, c.Altitude, 0)
	if err != nil {
		return none, fmt.Errorf("--altitude %w", err)
	}
	p, err := air.StandardPressure(z)
	if err != nil {
		return none, err
	}
	t, err := units.Quantity(units.Temperature, c.T, p)
	if err != nil {
		return none, fmt.Errorf("--t %w", err)
	}
	if c.RH != nil {
		return air.FromRH(t, *c.RH/100, p)
	}
	wet, err := units.Quantity(units.Temperature, c.WetBulb+c.DewPoint, p)
	if err != nil {
		return none, fmt.Errorf("--wet-bulb or --dew-point %w", err)
	}
	if c.DewPoint != "" {
		return air.FromDewPoint(t, wet, p)
	}
	return air.FromWetBulb(t, wet, p)
}

func (c airCmd) Run(s *streams) error {
	a, err := c.state()
	if err != nil {
		return err
	}
	wet, err := a.WetBulb()
	if err != nil {
		return err
	}
	dew, err := a.DewPoint()
	if err != nil {
		return err
	}
	full, err := air.SatPressure(a.T)
	if err != nil {
		return err
	}
	if c.JSON {
		e := json.NewEncoder(s.out)
		e.SetIndent("", " ")
		return e.Encode(map[string]float64{"T_K": a.T, "p_Pa": a.P, "W_kg_kg": a.W, "RH": a.RH(), "wet_bulb_K": wet, "dew_point_K": dew,
			"h_J_kg_dry": a.H(), "rho_kg_m3": a.Rho(), "v_m3_kg_dry": a.V(), "p_vapour_Pa": a.VapourPressure(), "p_saturation_Pa": full,
			"sensible_J_m3K": a.SensibleFactor(), "dry_air_kg_m3": a.TotalFactor()})
	}
	f := func(t float64) float64 { return t*9/5 - 459.67 }
	tw := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(tw, "dry bulb\t%.2f °F\t%.2f °C\nwet bulb\t%.2f °F\t%.2f °C\ndew point\t%.2f °F\t%.2f °C\n", f(a.T), a.T-273.15, f(wet), wet-273.15, f(dew), dew-273.15)
	fmt.Fprintf(tw, "relative humidity\t%.1f %%\tvapour %.0f of %.0f Pa\nhumidity ratio\t%.5f kg/kg dry air\nenthalpy\t%.3f kJ/kg dry air\ndensity\t%.4f kg/m3\tat %.3f kPa\n",
		100*a.RH(), a.VapourPressure(), full, a.W, a.H()/1e3, a.Rho(), a.P/1e3)
	fmt.Fprintf(tw, "heat per flow and kelvin\t%.1f J/(m3 K)\ndry air per flow\t%.4f kg/m3\n", a.SensibleFactor(), a.TotalFactor())
	return tw.Flush()
}

type planCmd struct {
	Unit   string   `arg:"" optional:"" help:"Unit file (JSON) or the name of a catalogue unit."`
	List   bool     `help:"Name the catalogue units, one a line, and stop."`
	JSON   bool     `help:"Print JSON."`
	Answer []string `help:"Answer a decision: --answer KEY=VALUE; once each." sep:"none" placeholder:"KEY=VALUE"`

	Volts    float64 `help:"New compressor: rated voltage, V."`
	RLA      float64 `help:"New compressor: rated-load current, A." name:"rla"`
	LRA      float64 `help:"New compressor: locked-rotor current, A." name:"lra"`
	UF       float64 `help:"New compressor: run capacitor, microfarads." name:"uf"`
	CapVolts float64 `help:"New compressor: least voltage rating of its run capacitor, V." name:"cap-volts"`
	Indoor   string  `help:"Indoor control of the converted unit: conventional or digital; as it is without it."`
}

// answers reads KEY=VALUE; one question has one answer.
func answers(lines []string) (map[string]string, error) {
	out := map[string]string{}
	for _, l := range lines {
		k, v, ok := strings.Cut(l, "=")
		if !ok {
			return nil, fmt.Errorf("--answer %s: want KEY=VALUE", l)
		}
		if was, twice := out[k]; twice && was != v {
			return nil, fmt.Errorf("--answer %s is given twice, as %q and as %q", k, was, v)
		}
		out[k] = v
	}
	return out, nil
}

func (c planCmd) Run(s *streams) error {
	if c.List {
		_, err := fmt.Fprintln(s.out, strings.Join(netlist.Catalogue(), "\n"))
		return err
	}
	if c.Unit == "" {
		return errors.New("name a unit file or a catalogue unit (--list names them)")
	}
	u, err := loadUnit(c.Unit)
	if err != nil {
		return err
	}
	target := planner.DefaultTarget()
	target.Indoor = c.Indoor
	target.Assumed = false
	for _, q := range []struct {
		given, scale float64
		into         *float64
	}{{c.Volts, 1, &target.Compressor.Volts}, {c.RLA, 1, &target.Compressor.RLA}, {c.LRA, 1, &target.Compressor.LRA}, {c.UF, 1e-6, &target.Compressor.Farads}, {c.CapVolts, 1, &target.Compressor.CapVolts}} {
		if q.given == 0 {
			target.Assumed = true
			continue
		}
		*q.into = q.given * q.scale
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	given, err := answers(c.Answer)
	if err != nil {
		return err
	}
	r, err := planner.Make(ctx, u, target, given, nil)
	if err != nil {
		return err
	}
	if c.JSON {
		e := json.NewEncoder(s.out)
		e.SetIndent("", " ")
		e.SetEscapeHTML(false)
		err = e.Encode(r)
	} else {
		err = planner.WriteText(s.out, r)
	}
	if err != nil {
		return err
	}
	switch r.Verdict {
	case proof.Fails:
		return exit{3, fmt.Errorf("%s: the proof fails: %s", c.Unit, r.Why)}
	case proof.NotDecided:
		return exit{4, fmt.Errorf("%s: the proof is not decided: %s", c.Unit, r.Why)}
	case planner.Refused:
		return exit{5, fmt.Errorf("%s: refused: %s", c.Unit, r.Refused)}
	}
	return nil
}

// maxUnit is the size beyond which a unit file is refused.
const maxUnit = 4 << 20

func loadUnit(name string) (*netlist.Unit, error) {
	if slices.Contains(netlist.Catalogue(), netlist.Current(name)) {
		return netlist.Load(name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("no catalogue unit and no file: %w", err)
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxUnit+1))
	if err == nil && len(b) > maxUnit {
		err = fmt.Errorf("larger than a unit can be (%d bytes)", maxUnit)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	u, err := netlist.Parse(b)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return u, nil
}

// mostKeys is how long a policy or a list of keys can be.
const mostKeys = 4 << 20

type registerCmd struct {
	Dir     string `arg:"" help:"Folder of workbooks; folders in it are read too." type:"existingdir"`
	Out     string `short:"o" required:"" help:"Table to write: .xlsx or .csv." type:"path"`
	Term    int    `default:"14" help:"Days within which a supervisor signs."`
	Journal string `help:"File that remembers what was read, so that a run that was ended goes on." type:"path"`
	A4      bool   `name:"a4" help:"A4 paper instead of Letter."`
	Policy  string `help:"File of the office that says whose keys and signatures let a workbook be filed, such as {\"keys\": [{\"key\": \"...\", \"who\": \"T-07\"}], \"supervisors\": [\"A. Name\"]}; 'retrostage policy new FILE' begins one. Without it no row says to file. It may not lie in the folder that is read." type:"existingfile"`
	Quick   bool   `help:"Do not write each workbook again from its record to compare."`
	Keys    string `help:"File of the tablets' keys, one a line as 'retrostage policy key' shows them: a workbook signed by another is named." type:"existingfile"`
	Force   bool   `help:"Overwrite what is there."`
}

func (c registerCmd) Run(s *streams) error {
	if err := endsIn(c.Out, "table", ".xlsx", ".csv"); err != nil {
		return err
	}
	if c.Term < 1 || c.Term > 3650 {
		return fmt.Errorf("--term %d is outside 1 to 3650 days", c.Term)
	}
	if isWorkbook(c.Out) {
		return fmt.Errorf("%s is the workbook of a job; name another file for the table", c.Out)
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	o := register.Options{Term: c.Term, Journal: c.Journal, Skip: c.Out, Rebuild: !c.Quick}
	if c.Policy != "" {
		b, err := archive.Read(c.Policy, mostKeys)
		if err != nil {
			return err
		}
		if register.Inside(c.Policy, c.Dir) {
			return fmt.Errorf("%s lies in the folder that is read, where whoever sends workbooks could write it: keep it where only the office can write", c.Policy)
		}
		if o.Policy, err = register.ParsePolicy(b); err != nil {
			return fmt.Errorf("%s: %w", c.Policy, err)
		}
		for _, w := range o.Policy.Warnings() {
			fmt.Fprintf(s.err, "%s: %s\n", c.Policy, w)
		}
	}
	if c.Keys != "" {
		list, err := archive.Read(c.Keys, mostKeys)
		if err != nil {
			return err
		}
		if o.Keys, err = workbook.KnownKeys(string(list)); err != nil {
			return fmt.Errorf("%s: %w", c.Keys, err)
		}
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	reg, err := register.Run(ctx, c.Dir, o, func(p register.Progress) {
		if p.Done%500 == 0 && p.Done < p.Total {
			fmt.Fprintf(s.err, "%d of %d\n", p.Done, p.Total)
		}
	})
	if err != nil {
		return err
	}
	if c.A4 {
		reg.Paper = workbook.A4
	}
	write := reg.WriteXLSX
	if strings.EqualFold(filepath.Ext(c.Out), ".csv") {
		write = reg.WriteCSV
	}
	if err := archive.Replace(c.Out, write); err != nil {
		return err
	}
	n := map[workbook.State]int{}
	for _, r := range reg.Rows {
		n[r.State]++
		if r.Reason != "" {
			fmt.Fprintf(s.err, "%s: %s\n", register.Clean(r.File), r.Reason)
		}
	}
	fmt.Fprintf(s.out, "%d files in %s\n", len(reg.Rows), c.Out)
	for _, k := range slices.Sorted(maps.Keys(n)) {
		fmt.Fprintf(s.out, "%6d %v\n", n[k], k)
	}
	fmt.Fprintln(s.out, reg.Totals())
	why := map[string][]string{}
	for _, x := range reg.Other {
		why[x.Reason] = append(why[x.Reason], register.Clean(x.File))
	}
	for _, r := range slices.Sorted(maps.Keys(why)) {
		if n := len(why[r]); n > 3 {
			fmt.Fprintf(s.err, "%d files, named in the table: %s\n", n, r)
			continue
		}
		for _, f := range why[r] {
			fmt.Fprintf(s.err, "%s: %s\n", f, r)
		}
	}
	if len(reg.Rows) == 0 && len(reg.Other) > 0 {
		return fmt.Errorf("no workbook was read of %d files in %s; the table says why", len(reg.Other), c.Dir)
	}
	return nil
}

type policyCmd struct {
	New   policyNewCmd   `cmd:"" help:"Write a policy to be filled in, with what each entry means; it lets nothing be filed yet."`
	Check policyCheckCmd `cmd:"" help:"Say whether a policy can be read and what it lets through."`
	Key   policyKeyCmd   `cmd:"" help:"Show the name of a key in a file, as a policy has it; nothing secret is shown."`
}

type policyNewCmd struct {
	File string `arg:"" help:"File to write." type:"path"`
}

func (c policyNewCmd) Run(s *streams) error {
	if _, err := os.Lstat(c.File); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already: a policy is not written over", c.File)
	}
	if err := archive.Replace(c.File, func(w io.Writer) error {
		_, err := io.WriteString(w, register.Starter)
		return err
	}); err != nil {
		return err
	}
	_, err := fmt.Fprintln(s.out, c.File)
	return err
}

type policyCheckCmd struct {
	File string `arg:"" help:"The policy." type:"existingfile"`
}

func (c policyCheckCmd) Run(s *streams) error {
	b, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	p, err := register.ParsePolicy(b)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	fmt.Fprintf(s.out, "%d keys of tablets, %d supervisors by name, %d keys of supervisors.\n", len(p.Keys), len(p.Supervisors), len(p.Countersign))
	for _, w := range p.Warnings() {
		fmt.Fprintf(s.out, "Note: %s.\n", w)
	}
	return nil
}

type policyKeyCmd struct {
	File string `arg:"" help:"File of the key." type:"existingfile"`
}

func (c policyKeyCmd) Run(s *streams) error {
	k, err := workbook.TabletKey(c.File)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, workbook.KeyID(k.Public().(ed25519.PublicKey)))
	return err
}

type demoCmd struct {
	Dir   string `arg:"" help:"Folder for the jobs." type:"path"`
	Jobs  int    `default:"10" help:"How many."`
	Seed  uint64 `default:"1" help:"The same seed gives the same jobs."`
	Force bool   `help:"Overwrite what is there."`
}

func (c demoCmd) Run(s *streams) error {
	if c.Jobs < 1 || c.Jobs > 100_000 {
		return fmt.Errorf("--jobs %d is outside 1 to 100000", c.Jobs)
	}
	if err := emptyFolder(c.Dir, c.Force); err != nil {
		return err
	}
	err := demo.Write(c.Dir, c.Jobs, c.Seed, func(done int) {
		if done%50 == 0 && done < c.Jobs {
			fmt.Fprintf(s.err, "%d of %d\n", done, c.Jobs)
		}
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%d demo jobs and their workbooks in %s\n", c.Jobs, c.Dir)
	return err
}

// emptyFolder refuses a folder that holds anything, unless force says otherwise.
func emptyFolder(dir string, force bool) error {
	if force {
		return nil
	}
	if held, err := os.ReadDir(dir); err == nil && len(held) > 0 {
		return fmt.Errorf("%s is not empty: %w; --force writes into it all the same", dir, fs.ErrExist)
	}
	return nil
}

type shotsCmd struct {
	Dir string `arg:"" help:"Folder for the pictures." type:"path"`
	Job string `help:"Job file; the demo job without it." default:"demo"`
}

func (c shotsCmd) Run(s *streams) error {
	j, err := loadJob(c.Job)
	if err != nil {
		return err
	}
	paths, err := app.Shots(c.Dir, j)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%d pictures in %s\n", len(paths), c.Dir)
	return err
}

type demoRunCmd struct {
	Dir string `arg:"" help:"Folder for what is written without a display." type:"path"`
}

func (c demoRunCmd) Run(s *streams) error {
	j, err := record.Demo()
	if err != nil {
		return err
	}
	if app.HasDisplay() {
		// A copy of its own, so that trying things out spoils nothing.
		path := filepath.Join(c.Dir, record.DemoFile)
		if err := os.MkdirAll(c.Dir, 0o755); err != nil {
			return err
		}
		if _, err := os.Stat(path); err != nil {
			if err := archive.WriteJob(path, j); err != nil {
				return err
			}
		}
		return app.Run(app.Opts{Job: path, Dir: c.Dir, Export: exporter("")})
	}
	fmt.Fprintln(s.out, "There is no display here: the demo job runs without a window.")
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return err
	}
	path, err := export(j, c.Dir, workbook.Options{})
	if err != nil {
		return err
	}
	fmt.Fprintln(s.out, "workbook:", path)
	paths, err := app.Shots(filepath.Join(c.Dir, "shots"), j)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "pictures: %d in %s\n", len(paths), filepath.Join(c.Dir, "shots"))
	return err
}

// jobsCmd is the tablet's store without a window.
type jobsCmd struct {
	List    jobsListCmd    `cmd:"" help:"Name the jobs, the one changed last first."`
	Show    jobsShowCmd    `cmd:"" help:"What a job has come to; with --field, who typed what there and when."`
	Export  jobsExportCmd  `cmd:"" help:"Write a job as a job file."`
	Import  jobsImportCmd  `cmd:"" help:"Take over job files. A job that is here already is left as it is."`
	Backup  jobsBackupCmd  `cmd:"" help:"Write all jobs as one file."`
	Restore jobsRestoreCmd `cmd:"" help:"Take over from a backup whatever is not here; nothing here is overwritten."`
	Queue   jobsQueueCmd   `cmd:"" help:"What waits for the supervisor, what was returned, what is complete and what the rest lacks."`
	Photos  jobsPhotosCmd  `cmd:"" help:"Write the photos of a job into a folder, by step."`
	Decide  jobsDecideCmd  `cmd:"" help:"A supervisor accepts what was signed, or returns it."`
	Discard jobsDiscardCmd `cmd:"" help:"Discard the key of what a job says about people: nobody reads it again. The rest of the job stays."`
	Sync    jobsSyncCmd    `cmd:"" help:"Exchange events and pictures with other tablets: through a shared folder, or with an office on PostgreSQL."`
	Office  jobsOfficeCmd  `cmd:"" help:"Set an office up on a PostgreSQL server, by the login that is to own it."`
}

type storeDir struct {
	Dir  string `help:"Folder where jobs are kept; without it, the user's data folder." type:"path"`
	JSON bool   `help:"Print JSON."`
}

// AfterApply lets a verb ask for the store: it is opened where one does, what has to be
// said of that is said, and run closes it.
func (d storeDir) AfterApply(c *kong.Context, s *streams) error {
	return c.BindToProvider(func() (l *store.Local, err error) {
		dir := d.Dir
		if dir == "" {
			if dir, err = archive.Dir(); err != nil {
				return nil, err
			}
		}
		if s.jobs, err = store.Open(dir); err != nil {
			return nil, err
		}
		if s.jobs.Note != "" {
			fmt.Fprintln(s.err, s.jobs.Note)
		}
		return s.jobs, nil
	})
}

// answer prints v as JSON, or lets text print it.
func (d storeDir) answer(w io.Writer, v any, text func() error) error {
	if !d.JSON {
		return text()
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// mayWrite refuses a path where something is, unless force says otherwise.
func mayWrite(path string, force bool) error {
	if info, err := os.Lstat(path); err == nil && !force && !info.IsDir() { // a folder is refused by name later
		return fmt.Errorf("%s: %w; --force overwrites it", path, fs.ErrExist)
	}
	return nil
}

type jobsListCmd struct {
	storeDir
	Search string `arg:"" optional:"" help:"Words of the owner's reference, the serial number, the date or the state."`
	All    bool   `help:"The archived jobs too."`
}

func (c jobsListCmd) Run(s *streams, l *store.Local) error {
	list, err := l.List(c.Search, c.All)
	if err != nil {
		return err
	}
	return c.answer(s.out, list, func() error {
		t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
		for _, n := range list {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s%s%s\n", n.ID, dash(n.Owner), dash(n.Serial), n.Changed.Format("2006-01-02 15:04"), n.State, due(n), aside(n.Aside))
		}
		return t.Flush()
	})
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func due(n store.Listed) string {
	switch {
	case n.Due == "":
		return ""
	case n.Overdue:
		return ", overdue since " + n.Due
	}
	return ", due " + n.Due
}

func aside(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", %d events set aside", n)
}

type jobsShowCmd struct {
	storeDir
	Job   string `arg:"" help:"Name of the job."`
	Field string `help:"Field, as job files name it: its whole history."`
}

func (c jobsShowCmd) Run(s *streams, l *store.Local) error {
	st, err := l.State(c.Job)
	if err != nil {
		return err
	}
	if c.Field != "" {
		return c.history(s, l)
	}
	return c.answer(s.out, struct {
		*record.Job
		Archived    bool               `json:"archived"`
		Reason      string             `json:"archived_reason,omitempty"`
		Attachments []store.Attachment `json:"attachments"`
		Events      int                `json:"events"`
		Aside       []store.Aside      `json:"set_aside"`
	}{st.Job, st.Archived, st.Reason, st.Attachments, st.Events, st.Aside}, func() error {
		fmt.Fprintf(s.out, "%s: %d events, %d entries, %d logs, %d attachments%s\n", c.Job, st.Events, len(st.Job.Entries), len(st.Job.Series), len(st.Attachments), aside(len(st.Aside)))
		for _, a := range st.Aside {
			fmt.Fprintf(s.err, "set aside: event %s: %s\n", a.Event.ID, a.Reason)
		}
		t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
		for _, f := range record.Fields {
			if e, ok := st.Job.Entry(f.Key); ok {
				fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", f.Label, strings.TrimSpace(e.Value+" "+e.Unit), dash(e.By), e.Time.Format("2006-01-02 15:04"))
			}
		}
		return t.Flush()
	})
}

func (c jobsShowCmd) history(s *streams, l *store.Local) error {
	f, err := record.ByName(c.Field)
	if err != nil {
		return err
	}
	h, err := l.History(c.Job, f.Key)
	if err != nil {
		return err
	}
	return c.answer(s.out, h, func() error {
		t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
		for _, n := range h {
			undone := ""
			if n.Undone {
				undone = "taken back"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\tbefore: %s\t%s\n", n.When.Format(time.DateTime), dash(n.Who), dash(strings.TrimSpace(n.Value+" "+n.Unit)), dash(n.Before), undone)
		}
		return t.Flush()
	})
}

type jobsExportCmd struct {
	storeDir
	Job   string `arg:"" help:"Name of the job."`
	Out   string `short:"o" required:"" help:"Job file to write." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c jobsExportCmd) Run(s *streams, l *store.Local) error {
	if err := endsIn(c.Out, "job file", ".json"); err != nil {
		return err
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	st, err := l.State(c.Job)
	if err != nil {
		return err
	}
	if n := len(st.Aside); n > 0 {
		fmt.Fprintf(s.err, "%d events of the job were set aside and are not in the file\n", n)
	}
	if err := archive.WriteJob(c.Out, st.Job); err != nil {
		return err
	}
	return c.answer(s.out, map[string]any{"job": c.Job, "file": c.Out, "set_aside": len(st.Aside)}, func() error {
		_, err := fmt.Fprintln(s.out, c.Out)
		return err
	})
}

type jobsImportCmd struct {
	storeDir
	Files []string `arg:"" help:"Job files." type:"path"`
}

func (c jobsImportCmd) Run(s *streams, l *store.Local) error {
	type imported struct {
		File  string `json:"file"`
		Job   string `json:"job,omitempty"`
		Error string `json:"error,omitempty"`
	}
	var all []imported
	bad := 0
	for _, path := range c.Files {
		n := imported{File: path}
		j, err := archive.ReadJob(path)
		if err == nil {
			n.Job = j.ID
			err = l.Import(j, "")
		}
		if err != nil {
			n.Error = err.Error()
			bad++
			fmt.Fprintf(s.err, "%s: not imported: %v\n", path, err)
		}
		all = append(all, n)
	}
	err := c.answer(s.out, all, func() error {
		_, err := fmt.Fprintf(s.out, "%d of %d job files imported\n", len(all)-bad, len(all))
		return err
	})
	if bad > 0 {
		err = errors.Join(err, fmt.Errorf("%d of %d job files were not imported", bad, len(all)))
	}
	return err
}

type jobsBackupCmd struct {
	storeDir
	Out   string `short:"o" required:"" help:"File to write." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c jobsBackupCmd) Run(s *streams, l *store.Local) error {
	if err := l.Backup(c.Out, c.Force); err != nil {
		return err
	}
	return c.answer(s.out, map[string]string{"file": c.Out}, func() error {
		_, err := fmt.Fprintln(s.out, c.Out)
		return err
	})
}

type jobsSyncCmd struct {
	storeDir
	With string `arg:"" name:"with" help:"The shared folder, or the office: postgres://LOGIN@HOST/DATABASE?sslmode=verify-full. A password belongs in PGPASSWORD or a password file."`
}

func (c jobsSyncCmd) exchange(l *store.Local) (store.Exchanged, error) {
	if !office.Is(c.With) {
		return l.Exchange(c.With)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	o, err := office.Open(ctx, c.With)
	if err != nil {
		return store.Exchanged{}, err
	}
	defer o.Close(ctx)
	return l.ExchangeWith(ctx, o)
}

func (c jobsSyncCmd) Run(s *streams, l *store.Local) error {
	x, err := c.exchange(l)
	if err != nil {
		return err
	}
	apart := map[string][]string{}
	for _, job := range x.Jobs {
		st, err := l.State(job)
		if err != nil {
			return err
		}
		for key, values := range st.Apart() {
			apart[job] = append(apart[job], key.Label()+": "+strings.Join(values, " or "))
		}
		slices.Sort(apart[job])
	}
	return c.answer(s.out, struct {
		store.Exchanged
		Apart map[string][]string `json:"typed_apart"`
	}{x, apart}, func() error {
		fmt.Fprintln(s.out, x)
		for _, job := range slices.Sorted(maps.Keys(apart)) {
			if len(apart[job]) > 0 {
				fmt.Fprintf(s.out, "%s: typed apart on two tablets, to be decided: %s\n", job, strings.Join(apart[job], "; "))
			}
		}
		return nil
	})
}

type jobsQueueCmd struct {
	storeDir
	For  string `enum:"all,supervisor,clerk" default:"all" help:"supervisor: waiting and returned; clerk: complete and incomplete; all."`
	With string `help:"First exchange with this shared folder or office."`
}

func (c jobsQueueCmd) Run(s *streams, l *store.Local) error {
	if c.With != "" {
		if _, err := (jobsSyncCmd{With: c.With}).exchange(l); err != nil {
			return err
		}
	}
	rows, err := queue.Of(l)
	if err != nil {
		return err
	}
	if c.For == "supervisor" {
		rows = slices.DeleteFunc(rows, func(r queue.Row) bool { return r.Stand != queue.Waiting && r.Stand != queue.Returned })
	}
	return c.answer(s.out, rows, func() error {
		t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
		for _, r := range rows {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.Job, dash(r.Owner), r.Words(), r.Lacks(6))
		}
		return t.Flush()
	})
}

type jobsPhotosCmd struct {
	storeDir
	Job   string `arg:"" help:"Name of the job."`
	Out   string `short:"o" required:"" help:"Folder to write into." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c jobsPhotosCmd) Run(s *streams, l *store.Local) error {
	st, err := l.State(c.Job)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(c.Out, 0o700); err != nil {
		return err
	}
	written, failed := []string{}, []error{}
	for n, a := range st.Attachments {
		b, err := l.Picture(c.Job, a)
		if err != nil {
			failed = append(failed, fmt.Errorf("photo %d: %w", n+1, err))
			continue
		}
		// A name of the program's own: what a person's file was called is no path here.
		step := "job"
		if slices.ContainsFunc(record.Steps, func(i record.StepInfo) bool { return string(i.Step) == a.For }) {
			step = a.For
		}
		path := filepath.Join(c.Out, fmt.Sprintf("%03d-%s.%s", n+1, step, strings.TrimPrefix(a.Mime, "image/")))
		err = mayWrite(path, c.Force)
		if err == nil {
			err = archive.Replace(path, func(w io.Writer) error { _, err := w.Write(b); return err })
		}
		if err != nil {
			failed = append(failed, err)
			continue
		}
		written = append(written, path)
	}
	err = c.answer(s.out, written, func() error {
		for _, p := range written {
			fmt.Fprintln(s.out, p)
		}
		return nil
	})
	return errors.Join(append(failed, err)...)
}

type jobsDecideCmd struct {
	storeDir
	Job      string `arg:"" help:"Name of the job."`
	Decision string `required:"" enum:"accept,return" help:"accept or return."`
	Name     string `required:"" help:"The supervisor's reference."`
	Remarks  string `help:"Why it is returned."`
}

func (c jobsDecideCmd) Run(s *streams, l *store.Local) error {
	if err := l.Decide(c.Job, c.Name, c.Decision, c.Remarks); err != nil {
		return err
	}
	return c.answer(s.out, map[string]string{"job": c.Job, "decision": c.Decision}, func() error {
		_, err := fmt.Fprintf(s.out, "%s: %s\n", c.Job, c.Decision)
		return err
	})
}

type jobsDiscardCmd struct {
	storeDir
	Job    string `arg:"" help:"Name of the job."`
	Name   string `required:"" help:"Who discards it."`
	Reason string `required:"" help:"Why: it stands in the job's history."`
}

func (c jobsDiscardCmd) Run(s *streams, l *store.Local) error {
	d, err := l.Discard(c.Job, c.Name, c.Reason)
	if err != nil {
		return err
	}
	return c.answer(s.out, d, func() error {
		fmt.Fprintf(s.out, "%d keys discarded, %d events are read no more; %d copies of the day had the key and have it no more\n", d.Keys, d.Sealed, d.Copies)
		if d.Plain > 0 {
			fmt.Fprintf(s.out, "%d events about people are from before anything was encrypted, and stay readable\n", d.Plain)
		}
		for _, f := range d.Left {
			fmt.Fprintf(s.out, "left alone, may have the key: %s\n", f)
		}
		_, err := fmt.Fprintln(s.out, "not reached: workbooks, job files and backups elsewhere; tablets, folder and office at their next exchange")
		return err
	})
}

type jobsOfficeCmd struct {
	Server string `arg:"" help:"postgres://OWNER@HOST/DATABASE?sslmode=verify-full. A password belongs in PGPASSWORD or a password file."`
}

func (c jobsOfficeCmd) Run(s *streams) error {
	if err := office.Install(context.Background(), c.Server); err != nil {
		return err
	}
	_, err := fmt.Fprintln(s.out, "the office is set up: give each login one of the roles retrostage_technician, retrostage_supervisor, retrostage_clerk, and a line in retrostage.people")
	return err
}

type jobsRestoreCmd struct {
	storeDir
	File string `arg:"" help:"Backup." type:"existingfile"`
}

func (c jobsRestoreCmd) Run(s *streams, l *store.Local) error {
	t, err := l.Restore(c.File)
	if err != nil {
		return err
	}
	err = c.answer(s.out, t, func() error {
		_, err := fmt.Fprintf(s.out, "%d events and %d attachments taken over; %d events were here already\n", t.Events, t.Attachments, t.Had)
		return err
	})
	if t.Refused+t.Lost > 0 {
		err = errors.Join(err, fmt.Errorf("%d events or pictures were damaged and %d places could not be read", t.Refused, t.Lost))
	}
	return err
}
