# Two commands do everything: `make run` and `make test`. Both install what
# the machine lacks (Debian or Ubuntu, as root or with sudo) and say so first.
GO ?= go
OUT ?= out

.PHONY: all run test bench shots setup vet clean
all: test

setup:
	@sh .ci/setup

.PHONY: retrostage
retrostage: setup
	$(GO) build -o $@ .

run: retrostage
	./retrostage demo-run $(OUT)

test: setup
	$(GO) vet ./...
	$(GO) test ./...

bench: setup
	$(GO) test -run '^$$' -bench . -benchtime 0.3s ./thermo/... ./wiring/... ./reports/...

shots: retrostage
	./retrostage shots $(OUT)/shots

vet: setup
	@test -z "$$(gofmt -l $$(git ls-files '*.go'))" || { gofmt -l $$(git ls-files '*.go'); exit 1; }
	$(GO) vet ./...
	$(GO) run honnef.co/go/tools/cmd/staticcheck@v0.7.0 ./...

clean:
	rm -rf retrostage $(OUT)
