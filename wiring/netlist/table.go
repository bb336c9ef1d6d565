package netlist

import "context"

// A Table is a truth table: what every load does in every combination of calls,
// safety switches and delays.
type Table struct {
	Inputs []Input  `json:"inputs"`
	Loads  []string `json:"loads"`
	Rows   []Row    `json:"rows"`
}

// A Row is one state: bit i of State is input i; Does[k] is the status of load k,
// "" for off.
type Row struct {
	State   State    `json:"state"`
	Does    []string `json:"does"`
	Chatter []string `json:"chatter,omitempty"`
}

// MakeTable solves every state.
func (c *Circuit) MakeTable(ctx context.Context) (*Table, error) {
	t := &Table{Inputs: c.Inputs, Loads: c.Loads}
	s := c.NewSolver()
	for st := range State(c.States()) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		sol, err := s.Solve(st)
		if err != nil {
			return nil, err
		}
		t.Rows = append(t.Rows, Row{st, sol.Statuses(), sol.Chatter})
	}
	return t, nil
}
