# Two commands do everything: `make run` and `make test`. Both install what
# the machine lacks (Debian or Ubuntu, as root or with sudo) and say so first.
GO ?= go
OUT ?= out

# Property tests begin from this seed, so that a run can be repeated; a soak
# draws new ones and prints the seed of a failure.
SEED ?= 20261126
# What has goroutines of its own.
# Not ./app itself: its tests draw every pane and open windows, and had not ended
# after ten minutes under the race detector; its goroutines are those of app/section
# and app/widget, which are here.
RACE = ./app/section ./app/widget ./app/chart ./reports/assess ./reports/register ./reports/workbook/... ./thermo/cycle ./thermo/diagnose ./thermo/fluid ./thermo/target ./wiring/planner ./wiring/supply

.PHONY: all run test race soak check bench shots setup vuln dead clean
all: test

setup:
	@sh .ci/setup

# The revision of the source goes into the program, and from there into papers.
.PHONY: retrostage
retrostage: setup
	$(GO) build -buildvcs=auto -o $@ .

run: retrostage
	./retrostage demo-run $(OUT)

test: setup
	RAPID_SEED=$(SEED) $(GO) test -timeout 60m ./...

race: setup
	RAPID_SEED=$(SEED) $(GO) test -race -short -timeout 60m $(RACE)

# Every loop at full length, from new seeds.
soak: setup
	RETROSTAGE_SOAK=1 RAPID_CHECKS=500 $(GO) test -count=1 -timeout 170m ./...

# What needs no test to be wrong: form, vet, staticcheck, the module file.
check: setup
	@test -z "$$(gofmt -l $$(git ls-files '*.go'))" || { gofmt -l $$(git ls-files '*.go'); exit 1; }
	$(GO) vet ./... ./.ci
	$(GO) tool staticcheck ./... ./.ci
	$(GO) mod tidy -diff

# Known vulnerabilities of what the program calls and requires, by a database
# made here; fails unless nothing is left but what a newer toolchain mends.
vuln: setup
	$(GO) test ./.ci
	$(GO) run ./.ci

# Functions that only tests reach, or nothing.
dead: setup
	$(GO) tool deadcode .

bench: setup
	$(GO) test -run '^$$' -bench . -benchtime 0.3s ./thermo/... ./wiring/... ./reports/...

shots: retrostage
	./retrostage shots $(OUT)/shots

clean:
	rm -rf retrostage $(OUT)
