package register

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"

	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
)

// Options say how a register is made. The zero value uses every processor,
// today's date, a term of 14 days and no journal.
type Options struct {
	Workers int
	Today   time.Time
	Term    int                 // days within which a supervisor signs
	Keys    []ed25519.PublicKey // of the office's own tablets
	Policy  *Policy             // what lets a row be filed; without one no row says so
	Rebuild bool                // write every workbook again from its record and compare
	Journal string              // file that remembers rows already read; "" for none
	Skip    string              // file that is no row: the table of an earlier run that this one replaces
}

// Progress is where a run stands.
type Progress struct {
	Done, Total, Bad int
	File             string // the one just read
}

// Register is the table.
type Register struct {
	Dir   string
	Today time.Time
	Term  int
	Rows  []Row          // what is to be chased first, first
	Other []Other        // what else lies in the folder, in the order of names
	Paper workbook.Paper // that WriteXLSX prints on
}

// Other is what is in the folder and is no workbook of a job.
type Other struct{ File, Reason string }

// MaxFiles is how many workbooks one run takes.
const MaxFiles = 1_000_000

// Run reads every workbook below dir. progress may be nil; it is called from
// one goroutine at a time. When ctx ends, what was read so far is returned
// with ctx's error, and a journal lets the next run go on from there. Links
// are not followed.
func Run(ctx context.Context, dir string, o Options, progress func(Progress)) (*Register, error) {
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	if o.Today.IsZero() {
		o.Today = time.Now()
	}
	if o.Term == 0 {
		o.Term = 14
	}
	files, reg, err := walk(ctx, dir, o.Skip)
	if err != nil {
		return nil, err
	}
	reg.Today, reg.Term = o.Today, o.Term
	if Inside(o.Journal, dir) {
		return nil, fmt.Errorf("%s lies in the folder that is read, where whoever sends workbooks could write it: keep the journal elsewhere", o.Journal)
	}
	jr, known, err := openJournal(o.Journal)
	if err != nil {
		return nil, err
	}
	defer jr.close()

	p := Progress{Total: len(files)}
	todo := make(chan Row)
	done := make(chan Row, o.Workers)
	go func() {
		defer close(todo)
		for _, f := range files {
			select {
			case todo <- f:
			case <-ctx.Done():
				return
			}
		}
	}()
	var wg sync.WaitGroup
	for range o.Workers {
		wg.Go(func() {
			var r reader
			for row := range todo {
				r.read(ctx, dir, &row, o, known[row.File])
				done <- row
			}
		})
	}
	go func() { wg.Wait(); close(done) }()
	for row := range done {
		if known[row.File].Sum != row.Sum || row.Sum == "" {
			jr.add(row)
		}
		reg.Rows = append(reg.Rows, row)
		if p.Done++; row.State == workbook.Damaged {
			p.Bad++
		}
		if p.File = row.File; progress != nil {
			progress(p)
		}
	}
	reg.Rows = slices.DeleteFunc(reg.Rows, func(r Row) bool {
		if r.Foreign != "" {
			reg.Other = append(reg.Other, Other{r.File, r.Foreign})
		}
		return r.Foreign != ""
	})
	slices.SortFunc(reg.Other, func(a, b Other) int { return strings.Compare(a.File, b.File) })
	slices.SortFunc(reg.Rows, func(a, b Row) int { return strings.Compare(a.File, b.File) })
	reg.relate()
	reg.chase(o.Policy)
	return reg, errors.Join(ctx.Err(), jr.err)
}

// walk lists the workbooks below dir. A folder that cannot be opened becomes a
// row of its own.
func walk(ctx context.Context, dir, skip string) ([]Row, *Register, error) {
	if info, err := os.Stat(dir); err != nil {
		return nil, nil, err
	} else if !info.IsDir() {
		return nil, nil, fmt.Errorf("%s is not a folder", dir)
	}
	skipped, serr := os.Stat(skip)
	reg := &Register{Dir: dir}
	var files []Row
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		rel, rerr := filepath.Rel(dir, path)
		if rerr != nil {
			return rerr
		}
		rel = filepath.ToSlash(rel)
		if err != nil {
			reg.Rows = append(reg.Rows, Row{File: rel, State: workbook.Damaged, Reason: err.Error()})
			return nil
		}
		name := strings.ToLower(d.Name())
		if d.IsDir() {
			return nil
		}
		if why := noWorkbook(name, d.Type()); why != "" {
			if info, err := d.Info(); err == nil && serr == nil && os.SameFile(info, skipped) {
				return nil
			}
			reg.Other = append(reg.Other, Other{rel, why})
			return nil
		}
		row := Row{File: rel}
		if info, err := d.Info(); err == nil {
			if serr == nil && os.SameFile(info, skipped) {
				return nil
			}
			row.Size, row.Modified = info.Size(), info.ModTime().UnixNano()
		}
		if files = append(files, row); len(files) > MaxFiles {
			return fmt.Errorf("more than %d workbooks in %s", MaxFiles, dir)
		}
		return nil
	})
	return files, reg, err
}

// others says what is to be done about files that are no workbooks, by their endings.
var others = map[string]string{
	".ods":  "an OpenDocument table: open it and save it as .xlsx; only that carries what is compared",
	".zip":  "an archive: unpack it here and read the folder again",
	".7z":   "an archive: unpack it here and read the folder again",
	".pdf":  "a page: nothing in it can be compared; ask for the workbook",
	".csv":  "a table, perhaps an earlier register",
	".json": "a job, a policy or other data: ask for the workbook",
	".pem":  "a private key: it does not belong here; put it away",
}

// noWorkbook says why a file is not read, "" if it is.
func noWorkbook(name string, mode fs.FileMode) string {
	switch ext := filepath.Ext(name); {
	case mode&fs.ModeSymlink != 0:
		return "a link: not followed; put the file itself here"
	case !mode.IsRegular():
		return "no file: a device, a pipe or a socket"
	case strings.HasPrefix(name, "~$") || strings.HasPrefix(name, ".~"): // programs leave these beside an open workbook
		return "left by a program that has the workbook open"
	case ext == ".xlsx" || ext == ".xlsm" || ext == ".xls":
		return ""
	case others[ext] != "":
		return others[ext]
	case ext == "":
		return "a file without an ending: not a workbook"
	default:
		return "a file that ends in " + ext + ": not a workbook"
	}
}

// reader reads one file after another into the same memory.
type reader struct{ buf bytes.Buffer }

// read fills the row of one file, from old if that is of the same bytes and was held
// against as much. Whatever goes wrong becomes the row's reason.
func (r *reader) read(ctx context.Context, dir string, row *Row, o Options, old Row) {
	defer func() {
		if p := recover(); p != nil {
			row.State, row.Reason = workbook.Damaged, fmt.Sprintf("the reader failed on it: %v", p)
		}
	}()
	b, err := r.load(filepath.Join(dir, filepath.FromSlash(row.File)))
	if err != nil {
		row.State, row.Reason = workbook.Damaged, err.Error()
		return
	}
	sum := sha256.Sum256(b)
	row.Sum = hex.EncodeToString(sum[:])
	if old.Sum == row.Sum && old.Size == row.Size && old.Modified == row.Modified && (!o.Rebuild || old.Check == string(workbook.Rebuilt)) {
		*row = old
		return
	}
	defer func() {
		if row.State == workbook.Damaged && earlier(b) {
			row.Foreign = "an earlier register, not a job's workbook"
		}
	}()
	if o.Rebuild {
		row.fill(workbook.Verify(context.WithoutCancel(ctx), b, o.Keys...))
		return
	}
	row.fill(workbook.ReadBytes(b, o.Keys...))
}

// earlier tells a register that this program wrote.
func earlier(b []byte) bool {
	f, err := sheetfile.Open(bytes.NewReader(b), int64(len(b)))
	return err == nil && f.Props[registerMark] != ""
}

// registerMark is the document property by which a register knows another.
const registerMark = "Retrostage register"

func (r *reader) load(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if r.buf.Cap() > 4<<20 {
		r.buf = bytes.Buffer{}
	}
	r.buf.Reset()
	n, err := r.buf.ReadFrom(io.LimitReader(f, sheetfile.MaxFile+1))
	if err != nil {
		return nil, err
	}
	if n > sheetfile.MaxFile {
		return nil, fmt.Errorf("larger than a workbook can be (%d bytes)", sheetfile.MaxFile)
	}
	return r.buf.Bytes(), nil
}

// relate finds what only the whole table shows: a serial number that stands in two
// jobs. That copies and corrections of one job share theirs is told by fold.
func (reg *Register) relate() {
	type use struct{ what, serial string }
	users := map[use][]int{}
	uses := func(r *Row) []use {
		us := []use{{"new compressor serial", r.NewCompressor}, {"failed compressor serial", r.OldCompressor}}
		for i := range us {
			us[i].serial = alike(us[i].serial)
		}
		return us
	}
	for i := range reg.Rows {
		r := &reg.Rows[i]
		r.Overdue, r.Ahead = r.overdue(reg.Today, reg.Term), r.ahead(reg.Today)
		for _, u := range uses(r) {
			if u.serial != "" {
				users[u] = append(users[u], i)
			}
		}
	}
	for i := range reg.Rows {
		r := &reg.Rows[i]
		var words []string
		for _, u := range uses(r) {
			ids := slices.DeleteFunc(slices.Clone(users[u]), func(k int) bool { return reg.Rows[k].Job == r.Job })
			if len(ids) > 0 {
				words = append(words, "same "+u.what+" as "+reg.others(ids))
			}
		}
		r.Duplicate = strings.Join(words, "; ")
	}
}

// alike is a serial number without what a hand writes now this way and now that: case,
// what stands between, and letters that look like figures. That two numbers which differ
// in no more are taken for one costs a question.
func alike(serial string) string {
	serial = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, serial)
	return strings.NewReplacer("O", "0", "I", "1", "L", "1", "\u0410", "A", "\u0412", "B", "\u0421", "C", "\u0415", "E", "\u041d", "H", "\u041a", "K",
		"\u041c", "M", "\u041e", "0", "\u0420", "P", "\u0422", "T", "\u0425", "X").Replace(serial)
}

// others names the files of ids, three at most.
func (reg *Register) others(ids []int) string {
	var s []string
	for n, k := range ids {
		if n == 3 {
			s = append(s, fmt.Sprintf("%d more", len(ids)-3))
			break
		}
		s = append(s, reg.Rows[k].File)
	}
	return strings.Join(s, ", ")
}

// Inside tells whether a file lies in a folder or below it.
func Inside(file, dir string) bool {
	if file == "" {
		return false
	}
	a, err1 := filepath.Abs(file)
	b, err2 := filepath.Abs(dir)
	if err := errors.Join(err1, err2); err != nil {
		return true
	}
	for _, p := range []*string{&a, &b} {
		if real, err := filepath.EvalSymlinks(filepath.Dir(*p)); err == nil {
			*p = filepath.Join(real, filepath.Base(*p))
		}
	}
	if real, err := filepath.EvalSymlinks(b); err == nil {
		b = real
	}
	rel, err := filepath.Rel(b, a)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// journal remembers rows in a file of JSON lines, one each, appended as they
// come. A torn last line is what a cut-off run leaves; it is read again.
type journal struct {
	f   *os.File
	w   *bufio.Writer
	err error
}

const journalHead = `{"kind":"retrostage register journal","version":3}`

func openJournal(path string) (*journal, map[string]Row, error) {
	known := map[string]Row{}
	if path == "" {
		return &journal{}, known, nil
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, nil, err
	}
	s := bufio.NewScanner(f)
	s.Buffer(make([]byte, 64<<10), 4<<20)
	var end int64
	first := true
	for s.Scan() {
		line := s.Bytes()
		if first {
			if string(line) != journalHead {
				f.Close()
				if strings.HasPrefix(string(line), `{"kind":"retrostage register journal"`) {
					return nil, nil, fmt.Errorf("%s is the journal of another version of the register; name a new one", path)
				}
				return nil, nil, fmt.Errorf("%s is no journal of a register; it was left alone", path)
			}
			first = false
		} else {
			var r Row
			if json.Unmarshal(line, &r) != nil {
				break
			}
			known[r.File] = r
		}
		end += int64(len(line)) + 1
	}
	torn := false // after the last line, but for its end
	if info, err := f.Stat(); err == nil && end > info.Size() {
		end, torn = info.Size(), true
	}
	if _, err := f.Seek(end, io.SeekStart); err != nil {
		f.Close()
		return nil, nil, err
	}
	if err := f.Truncate(end); err != nil {
		f.Close()
		return nil, nil, err
	}
	j := &journal{f: f, w: bufio.NewWriter(f)}
	if torn {
		fmt.Fprintln(j.w)
	}
	if first {
		fmt.Fprintln(j.w, journalHead)
	}
	return j, known, nil
}

func (j *journal) add(r Row) {
	if j.w == nil || j.err != nil {
		return
	}
	b, err := json.Marshal(r)
	if err == nil {
		_, err = j.w.Write(append(b, '\n'))
	}
	if err == nil && j.w.Buffered() > 32<<10 {
		err = j.w.Flush()
	}
	j.err = err
}

func (j *journal) close() {
	if j.w == nil {
		return
	}
	if err := j.w.Flush(); j.err == nil {
		j.err = err
	}
	j.f.Close()
}
