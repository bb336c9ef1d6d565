# Two commands do everything: `make run` and `make test`. Both install what
# the machine lacks (Debian or Ubuntu, as root or with sudo) and say so first.
GO ?= go
OUT ?= out
comma := ,

# Without the toolkit's coloured emoji: 4 MB of the program, and twice that when it runs.
export GOFLAGS := $(strip $(GOFLAGS) -tags=no_emoji)

# Property tests begin from this seed, so that a run can be repeated; a soak
# draws new ones and prints the seed of a failure.
SEED ?= 20261126
# Draws of each property in the usual run; a soak takes 500.
CHECKS ?= 50
# What has goroutines of its own.
# Not ./app itself, whose tests draw every pane: its goroutines are those of app/section
# and app/widget, which are here. APPRACE, those of it that save, exchange and open a
# window, is `make race-app`.
RACE = ./app/section ./app/widget ./app/chart ./reports/workbook/sheetfile ./thermo/cycle ./thermo/diagnose ./thermo/fluid ./thermo/target ./wiring/supply
APPRACE = NotSavedIsKept|FailedSave|SlowSave|EnteredWhile|TwoWindows|TwoFirstStarts|SecondWindow|ExchangeByItself|SavedWhileExchanging|ExchangeAtTheWindow|TypeKillReopen|WindowKilledAgain

.PHONY: all run test race race-app soak check bench shots setup vuln dead clean
all: test

setup:
	@sh .ci/setup

# The revision of the source goes into the program, and from there into papers.
.PHONY: retrostage
retrostage: setup
	$(GO) build -buildvcs=auto -o $@ .

run: retrostage
	./retrostage demo-run $(OUT)

# The collector of memory runs less often than in the program: a process of tests is
# short-lived, and what bounds memory sets it back for itself.
test: setup
	GOGC=400 RAPID_SEED=$(SEED) RAPID_CHECKS=$(CHECKS) $(GO) test -timeout 60m ./...

race: setup
	RAPID_SEED=$(SEED) $(GO) test -race -short -timeout 60m $(RACE)
	$(GO) test -race -timeout 60m ./reports/assess ./reports/choice -run 'OneAssessment|Draws|Cancelled' # one assessment asked from many sides; draws on all cores
	$(GO) test -race -timeout 60m ./reports/register -run 'OddFolders' # its readers; a workbook written again takes ten times as long here
	$(GO) test -race -timeout 60m ./wiring/planner -run 'ProofStops|FaultsSay|NextFromFile|NarrowRefuses' # the planner's goroutines: faults and what the check-out tells apart

# Saving, exchange, two windows; and the program on a display, built with the detector.
# Not part of race: the program with all it links takes nine minutes to build that way.
race-app: setup
	$(GO) test -race -timeout 60m ./app -run '$(APPRACE)'

# Every loop at full length, from new seeds.
soak: setup
	RETROSTAGE_SOAK=1 RAPID_CHECKS=500 $(GO) test -count=1 -timeout 170m ./...

# What needs no test to be wrong: form, vet, staticcheck, the module file.
check: setup
	@test -z "$$(gofmt -l $$(git ls-files '*.go'))" || { gofmt -l $$(git ls-files '*.go'); exit 1; }
	$(GO) vet ./... ./.ci ./.ci/release
	$(GO) tool staticcheck ./... ./.ci ./.ci/release
	$(GO) mod tidy -diff

# Known vulnerabilities of what the program calls and requires, by a database
# made here; fails unless nothing is left but what a newer toolchain mends.
vuln: setup
	$(GO) test ./.ci ./.ci/release
	$(GO) run ./.ci

# Functions that only tests reach, or nothing.
dead: setup
	$(GO) tool deadcode .

bench: setup
	$(GO) test -run '^$$' -bench . -benchtime 0.3s ./thermo/... ./wiring/... ./reports/...

# What is given to people, in out/release. The tools come from Debian:
# gcc-mingw-w64-x86-64, nsis, zip. None of it is part of `make test`.
VERSION = $(shell sed -n 's/^const Number = "\(.*\)"/\1/p' reports/version/version.go)
STAMP = $(shell git log -1 --format=%ct)
REL = $(OUT)/release
# No paths of this machine, no symbols, the revision stamped, no build id of the
# linker: meant to make two builds of one revision the same, which was not compared yet.
RELFLAGS = -trimpath -buildvcs=true
LDFLAGS = -s -w -buildid=
ARCH = $(shell $(GO) env GOARCH)

.PHONY: windows windows-test deb deb-arm64 release
$(OUT)/parts/retrostage.ico: .ci/release/main.go
	mkdir -p $(OUT)/parts $(REL)
	$(GO) run ./.ci/release icon $(OUT)/parts

# The resources are linked by a .syso in the main package's folder, which is
# taken away again.
windows: $(OUT)/parts/retrostage.ico
	x86_64-w64-mingw32-windres -I $(OUT)/parts -I assets/desktop -DCOMMAS=$(subst .,$(comma),$(VERSION)),0 '-DDOTS=\"$(VERSION)\"' \
		assets/desktop/retrostage.rc -O coff -o retrostage_windows_amd64.syso
	mkdir -p $(OUT)/windows/Retrostage $(REL)
	CGO_ENABLED=1 GOOS=windows GOARCH=amd64 CC=x86_64-w64-mingw32-gcc $(GO) build $(RELFLAGS) \
		-ldflags '$(LDFLAGS) -H=windowsgui -extldflags=-Wl,--no-insert-timestamp' -o $(OUT)/windows/Retrostage/retrostage.exe . ; \
		status=$$?; rm -f retrostage_windows_amd64.syso; exit $$status
	$(GO) run ./.ci/release licences $(OUT)/windows/Retrostage/retrostage.exe > $(OUT)/windows/Retrostage/LICENCES.txt
	cp LICENSE $(OUT)/windows/Retrostage/LICENSE.txt
	cp CHANGELOG.md $(OUT)/windows/Retrostage/CHANGELOG.txt
	cp $(OUT)/parts/retrostage.ico $(OUT)/windows/Retrostage/
	find $(OUT)/windows/Retrostage -exec touch -d @$(STAMP) {} + # the installer keeps the times
	SOURCE_DATE_EPOCH=$(STAMP) makensis -V2 -NOCD -DVERSION=$(VERSION) -DFROM=$(OUT)/windows/Retrostage \
		-DOUT=$(REL)/retrostage-$(VERSION)-setup.exe assets/desktop/retrostage.nsi
	mv $(OUT)/windows/Retrostage/retrostage.ico $(OUT)/windows/
	echo "While this file lies beside the program, jobs are kept in the folder jobs beside it." > $(OUT)/windows/Retrostage/portable
	find $(OUT)/windows/Retrostage -exec touch -d @$(STAMP) {} +
	rm -f $(REL)/retrostage-$(VERSION)-windows.zip
	cd $(OUT)/windows && TZ=UTC zip -q -X -r $(abspath $(REL))/retrostage-$(VERSION)-windows.zip Retrostage -x '*/jobs/*'

# Under Debian's wine, with what `make windows` built.
windows-test: retrostage
	.ci/windows/test $(OUT)/windows/Retrostage/retrostage.exe ./retrostage $(OUT)/windows/window.png $(REL)/retrostage-$(VERSION)-setup.exe

DEB = $(OUT)/deb
deb: $(OUT)/parts/retrostage.ico
	rm -rf $(DEB)
	mkdir -p $(REL) $(DEB)/DEBIAN $(DEB)/usr/bin $(DEB)/usr/share/applications $(DEB)/usr/share/mime/packages $(DEB)/usr/share/doc/retrostage
	CGO_ENABLED=1 $(CROSS) $(GO) build $(RELFLAGS) -ldflags '$(LDFLAGS)' -o $(DEB)/usr/bin/retrostage .
	for n in 16 32 48 64 128 256; do d=$(DEB)/usr/share/icons/hicolor/$${n}x$${n}/apps; \
		mkdir -p $$d && cp $(OUT)/parts/retrostage-$$n.png $$d/retrostage.png || exit 1; done
	cp assets/desktop/retrostage.desktop $(DEB)/usr/share/applications/
	cp assets/desktop/retrostage.xml $(DEB)/usr/share/mime/packages/
	{ cat LICENSE; echo; $(GO) run ./.ci/release licences $(DEB)/usr/bin/retrostage; } > $(DEB)/usr/share/doc/retrostage/copyright
	gzip -9nc CHANGELOG.md > $(DEB)/usr/share/doc/retrostage/changelog.gz
	printf '%s\n' 'Package: retrostage' 'Version: $(VERSION)' 'Architecture: $(ARCH)' 'Section: misc' 'Priority: optional' \
		'Maintainer: The Retrostage authors <retrostage@localhost>' \
		'Depends: libc6, libgl1, libx11-6, libxcursor1, libxi6, libxinerama1, libxrandr2, libxxf86vm1' \
		'Description: workbench for converting a two-stage outdoor unit' \
		' Carries the conversion of a two-stage air conditioner to a single-stage' \
		' compressor from the first reading to the signed sheet.' > $(DEB)/DEBIAN/control
	chmod -R u=rwX,go=rX $(DEB)
	find $(DEB) -exec touch -h -d @$(STAMP) {} +
	SOURCE_DATE_EPOCH=$(STAMP) dpkg-deb --root-owner-group --build $(DEB) $(REL)/retrostage_$(VERSION)_$(ARCH).deb

# The same for arm64, by Debian's cross compiler: gcc-aarch64-linux-gnu, and of the
# architecture arm64 (dpkg --add-architecture arm64) libgl-dev, libx11-dev, libxcursor-dev,
# libxi-dev, libxinerama-dev, libxrandr-dev, libxxf86vm-dev.
ARM = $(and $(shell command -v aarch64-linux-gnu-gcc),$(wildcard /usr/lib/aarch64-linux-gnu/libXxf86vm.so),deb-arm64)
deb-arm64:
	$(MAKE) deb ARCH=arm64 DEB=$(OUT)/deb-arm64 \
		CROSS='PKG_CONFIG_PATH=/usr/lib/aarch64-linux-gnu/pkgconfig GOOS=linux GOARCH=arm64 CC=aarch64-linux-gnu-gcc'
	$(GO) version -m $(OUT)/deb-arm64/usr/bin/retrostage | sed '1s|^.*/||' > $(REL)/retrostage-$(VERSION)-linux-arm64.bom.txt

# All of it, what is in it, and checksums; the package for arm64 where its tools are.
release: windows deb $(ARM)
	$(if $(ARM),,@echo "release: no package for arm64, its cross compiler and libraries are not here")
	$(GO) version -m $(OUT)/windows/Retrostage/retrostage.exe | sed '1s|^.*/||' > $(REL)/retrostage-$(VERSION)-windows.bom.txt
	$(GO) version -m $(DEB)/usr/bin/retrostage | sed '1s|^.*/||' > $(REL)/retrostage-$(VERSION)-linux.bom.txt
	cp CHANGELOG.md $(REL)/
	cp $(OUT)/windows/Retrostage/LICENCES.txt $(REL)/
	cd $(REL) && rm -f SHA256SUMS && sha256sum * > $(abspath $(OUT))/SHA256SUMS && mv $(abspath $(OUT))/SHA256SUMS .

shots: retrostage
	./retrostage shots $(OUT)/shots

clean:
	rm -rf retrostage $(OUT)
