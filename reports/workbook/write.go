package workbook

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/version"
	"retrostage/thermo/units"

	"github.com/xuri/excelize/v2"
)

// Paper is the sheet of paper that the print set-up is for.
type Paper int

// The papers.
const (
	Letter Paper = iota
	A4
)

// Schema is the version of the layout that Read understands.
const Schema = 1

// Options say how a workbook is written. The zero value is inch-pound units
// on Letter paper, unsigned.
type Options struct {
	System   units.System
	Paper    Paper
	Key      ed25519.PrivateKey // the tablet's key; nil leaves the file unsigned
	Software string             // what wrote it, for About; empty is this program, its version and revision
	Time     time.Time          // when it was exported; zero takes the time of the newest entry
	Sign     Signature          // fills in the signature block, for trials
	Count    int                // exports of this job by the tablet, this one included; 0 is not counted
	Previous string             // Reading.Export of the one before

	Photos []Photo // of the job, in their order

	Ledger *Ledger // of the tablet: sets Count and Previous

	public ed25519.PublicKey // of Key, or of the key that a file at hand was signed with
}

func (o *Options) complete(j *record.Job) {
	o.Photos = roomFor(o.Photos)
	if o.Software == "" {
		o.Software = version.String()
	}
	if o.Key != nil && o.public == nil {
		o.public = o.Key.Public().(ed25519.PublicKey)
	}
	if o.Time.IsZero() {
		for _, e := range j.Entries {
			if e.Time.After(o.Time) {
				o.Time = e.Time
			}
		}
	}
}

// Write writes the workbook of a job as it was assessed. The same arguments give
// the same cells.
func Write(w io.Writer, a *assess.Assessment, opts Options) error {
	if n := len(opts.Key); n != 0 && n != ed25519.PrivateKeySize {
		return fmt.Errorf("key of %d bytes is not an Ed25519 private key of %d", n, ed25519.PrivateKeySize)
	}
	if opts.Ledger != nil {
		if err := opts.Ledger.Next(a.Job(), &opts); err != nil {
			return err
		}
	}
	b, raw, err := build(a, opts)
	if err != nil {
		return err
	}
	defer b.file.Close()
	return b.save(w, raw)
}

// save adds the seal and writes the file.
func (b *book) save(w io.Writer, raw []byte) error {
	if b.fault != nil {
		return fmt.Errorf("workbook of job %s: %w", b.job.ID, b.fault)
	}
	if err := embedded(b.opts.Photos); err != nil {
		return fmt.Errorf("workbook of job %s: %w", b.job.ID, err)
	}
	if err := b.close(raw); err != nil {
		return fmt.Errorf("workbook of job %s: %w", b.job.ID, err)
	}
	b.file.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &steadyZip{w: w, level: 4} })
	return b.file.Write(w)
}

// build lays the workbook out, all but its seal, and gives what the seal is to
// hold.
func build(a *assess.Assessment, opts Options) (*book, []byte, error) {
	job := a.Job()
	opts.complete(job)
	canonical, err := job.Encode()
	if err != nil {
		return nil, nil, err
	}
	rep, err := a.Report()
	if err != nil {
		return nil, nil, err
	}
	b := newBook(a, rep, opts, canonical)
	raw, err := b.open(canonical)
	if err != nil {
		b.file.Close()
		return nil, nil, fmt.Errorf("workbook of job %s: %w", job.ID, err)
	}
	return b, raw, nil
}

func newBook(a *assess.Assessment, rep *assess.Report, o Options, canonical []byte) *book {
	return &book{file: excelize.NewFile(), job: a.Job(), all: a, rep: rep, opts: o, names: map[string]string{}, meters: map[record.Key]string{},
		styles: map[look]int{}, liveOf: map[string]string{}, digest: digest(canonical)}
}

// open writes every page that is shown, lists what they show, and gives the
// payload of the seal.
func (b *book) open(canonical []byte) ([]byte, error) {
	if err := b.lay(); err != nil {
		return nil, err
	}
	pl := b.payload(canonical)
	if err := b.emit(); err != nil {
		return nil, err
	}
	var err error
	if pl.Shown, err = b.shown(pl.Sign); err != nil {
		return nil, err
	}
	return json.Marshal(pl)
}

// lay builds the pages. Readings come first, for everything refers to them;
// the order in the file is another matter.
func (b *book) lay() error {
	if name := b.job.Text(record.Refrigerant); name != "" {
		var err error
		if b.sat, err = saturationOf(name); err != nil {
			return err
		}
	}
	if err := b.wire(context.Background()); err != nil {
		return err
	}
	b.ranking.Diagnosis, b.ranking.err = b.all.Causes()
	readings := b.readingsPage()
	var sat *page
	if b.sat != nil {
		sat = b.saturationPage()
	}
	findings := b.findingsPage()
	chain, err := b.chainPage()
	if err != nil {
		return err
	}
	electrical := b.stepPage("Electrical", "Electrical", record.Match, record.Electrical)
	if err := b.oldNew(electrical, electrical.next()+1, true); err != nil {
		return err
	}
	wiring, check, ladders, err := b.wiringPages()
	if err != nil {
		return err
	}
	closeUp := b.stepPage("Close-up and charge", "Close-up and charge", record.CloseUp, record.Charge)
	running := b.stepPage("Running check", "Running check", record.Running)
	series, vacuum := b.seriesPage()
	label := b.labelPage()
	photos := b.photosPage()
	about := b.aboutPage()
	hand, first := b.handOverPage()
	continued, err := b.continuedPage(first, vacuum)
	if err != nil {
		return err
	}
	for _, p := range append(append([]*page{hand, continued, findings, wiring}, ladders...), check, readings, chain, electrical, closeUp, running, series, label, photos, about, sat) {
		if p != nil {
			b.pages = append(b.pages, p)
		}
	}
	if len(ladders) > 1 { // the old circuit is there to be looked up
		ladders[1].evidence = true
	}
	for _, p := range []*page{check, readings, chain, electrical, closeUp, running, series, label, photos, about} {
		if p != nil {
			p.evidence = true
		}
	}
	return nil
}

// close adds the seal.
func (b *book) close(raw []byte) error {
	seal, err := b.seal(raw)
	if err != nil {
		return err
	}
	if _, err := b.file.NewSheet(seal.name); err != nil {
		return err
	}
	if err := b.setUp(seal); err != nil {
		return err
	}
	return seal.emit(b)
}

func (b *book) emit() error {
	f := b.file
	if err := f.SetDefaultFont(fontName); err != nil {
		return err
	}
	for _, p := range b.pages {
		if _, err := f.NewSheet(p.name); err != nil {
			return err
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return err
	}
	f.SetActiveSheet(0)
	for _, p := range b.pages {
		if err := b.setUp(p); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	for _, p := range b.pages {
		if err := p.emit(b); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	for _, n := range b.order {
		if err := f.SetDefinedName(&excelize.DefinedName{Name: n, RefersTo: b.names[n]}); err != nil {
			return fmt.Errorf("name %s: %w", n, err)
		}
	}
	full := true
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &full}); err != nil {
		return err
	}
	if err := f.ProtectWorkbook(&excelize.WorkbookProtectionOptions{LockStructure: true}); err != nil {
		return err
	}
	at := b.opts.Time.UTC().Format(time.RFC3339)
	return f.SetDocProps(&excelize.DocProperties{Title: "Hand-over of job " + b.job.ID, Creator: b.opts.Software,
		LastModifiedBy: b.opts.Software, Created: at, Modified: at, Language: "en",
		Subject: "Conversion of a two-stage unit to a single-stage compressor"})
}

// banner opens a page: its name, the job, and that it is a demonstration where
// it is one. It returns the next free row.
func (b *book) banner(p *page, columns int) int {
	p.text(1, 1, title, p.title)
	p.span(1, 1, columns)
	p.heights[1] = 26
	var who []string
	who = append(who, "Job "+b.job.ID)
	for _, k := range []record.Key{record.OwnerRef, record.VisitDate} {
		if t := b.job.Text(k); t != "" {
			if r := []rune(t); len(r) > 60 { // one line, whatever was entered
				t = string(r[:59]) + "…"
			}
			who = append(who, t)
		}
	}
	p.text(2, 1, note, strings.Join(who, "   ·   "))
	p.span(2, 1, columns)
	p.heights[2] = 15
	row := 3
	if b.job.Demo {
		p.text(row, 1, warn, "DEMONSTRATION: invented data. No such unit, owner or technician exists.")
		p.span(row, 1, columns)
		p.heights[row] = 18
		row++
	}
	return row + 1
}
