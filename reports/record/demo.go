package record

import "retrostage/assets"

// DemoFile is the name of the demo job's file.
const DemoFile = "demo-four-ton.job.json"

// Demo returns the invented job that comes with the program.
func Demo() (*Job, error) {
	b, err := assets.FS.ReadFile("demo/" + DemoFile)
	if err != nil {
		return nil, err
	}
	return Decode(b)
}
