package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// jobsCmd is the tablet's store without a window.
type jobsCmd struct {
	List    jobsListCmd    `cmd:"" help:"Name the jobs, the one changed last first."`
	Show    jobsShowCmd    `cmd:"" help:"What a job has come to; with --field, who typed what there and when."`
	Export  jobsExportCmd  `cmd:"" help:"Write a job as a job file."`
	Import  jobsImportCmd  `cmd:"" help:"Take over job files. A job that is here already is left as it is."`
	Backup  jobsBackupCmd  `cmd:"" help:"Write all jobs as one file."`
	Restore jobsRestoreCmd `cmd:"" help:"Take over from a backup whatever is not here; nothing here is overwritten."`
}

type storeDir struct {
	Dir  string `help:"Folder where jobs are kept; without it, the user's data folder." type:"path"`
	JSON bool   `help:"Print JSON."`
}

// with opens the store, says what has to be said of that, and closes it again.
func (d storeDir) with(s *streams, act func(*store.Local) error) (err error) {
	dir := d.Dir
	if dir == "" {
		if dir, err = archive.Dir(); err != nil {
			return err
		}
	}
	l, err := store.Open(dir)
	if err != nil {
		return err
	}
	if l.Note != "" {
		fmt.Fprintln(s.err, l.Note)
	}
	return errors.Join(act(l), l.Close())
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

func (c jobsListCmd) Run(s *streams) error {
	return c.with(s, func(l *store.Local) error {
		list, err := l.List(c.Search, c.All)
		if err != nil {
			return err
		}
		return c.answer(s.out, list, func() error {
			t := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
			for _, n := range list {
				fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s%s\n", n.ID, dash(n.Owner), dash(n.Serial), n.Changed.Format("2006-01-02 15:04"), n.State, aside(n.Aside))
			}
			return t.Flush()
		})
	})
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
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

func (c jobsShowCmd) Run(s *streams) error {
	return c.with(s, func(l *store.Local) error {
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

func (c jobsExportCmd) Run(s *streams) error {
	if err := endsIn(c.Out, "job file", ".json"); err != nil {
		return err
	}
	if err := mayWrite(c.Out, c.Force); err != nil {
		return err
	}
	return c.with(s, func(l *store.Local) error {
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
	})
}

type jobsImportCmd struct {
	storeDir
	Files []string `arg:"" help:"Job files." type:"path"`
}

func (c jobsImportCmd) Run(s *streams) error {
	type imported struct {
		File  string `json:"file"`
		Job   string `json:"job,omitempty"`
		Error string `json:"error,omitempty"`
	}
	return c.with(s, func(l *store.Local) error {
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
	})
}

type jobsBackupCmd struct {
	storeDir
	Out   string `short:"o" required:"" help:"File to write." type:"path"`
	Force bool   `help:"Overwrite what is there."`
}

func (c jobsBackupCmd) Run(s *streams) error {
	return c.with(s, func(l *store.Local) error {
		if err := l.Backup(c.Out, c.Force); err != nil {
			return err
		}
		return c.answer(s.out, map[string]string{"file": c.Out}, func() error {
			_, err := fmt.Fprintln(s.out, c.Out)
			return err
		})
	})
}

type jobsRestoreCmd struct {
	storeDir
	File string `arg:"" help:"Backup." type:"existingfile"`
}

func (c jobsRestoreCmd) Run(s *streams) error {
	return c.with(s, func(l *store.Local) error {
		t, err := l.Restore(c.File)
		if err != nil {
			return err
		}
		err = c.answer(s.out, t, func() error {
			_, err := fmt.Fprintf(s.out, "%d events and %d attachments taken over; %d events were here already\n", t.Events, t.Attachments, t.Had)
			return err
		})
		if t.Refused+t.Lost > 0 {
			err = errors.Join(err, fmt.Errorf("%d events were damaged and %d places could not be read", t.Refused, t.Lost))
		}
		return err
	})
}
