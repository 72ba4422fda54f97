# Needs Go and make. Everything else is optional: a test that wants a tool that
# is not installed says so and is skipped.

GO ?= go
GOFMT = $(shell $(GO) env GOROOT)/bin/gofmt
# The race detector needs a C compiler; without one it is left out.
RACE = $(if $(filter 1,$(shell $(GO) env CGO_ENABLED)),-race)
# The version is stamped by git, not by the Go tool, which refuses to build in a
# checkout that belongs to somebody else.
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null)
BUILD = -buildvcs=false -ldflags '-X main.stamp=$(VERSION)'
# What is tested under the race detector: the packages that run more than one
# thing at a time, but not ./cmd/loosedog, whose browser tests would be too slow.
CONCURRENT = ./audio ./cmd/accuracy ./diagnose/record ./cmd/loosedog/serve
# A folder of NAME.wav with NAME.truth.json for make accuracy, and how many takes
# it makes of each condition.
DIR ?=
SEEDS ?= 1
# How long make fuzz works on each target.
FUZZTIME ?= 30s

.PHONY: build demo test check fmt vet staticcheck unit race tidy bench accuracy fuzz clean

build:
	$(GO) build $(BUILD) -o bin/ ./cmd/loosedog

# Builds, makes the demo take, measures it, writes the picture, says where.
demo: build
	bin/loosedog demo --out out

test: check unit race

check: fmt vet staticcheck

fmt:
	@bad=$$($(GOFMT) -l audio cmd diagnose onset report); \
	if [ -n "$$bad" ]; then echo "not formatted (run gofmt -w):"; echo "$$bad"; exit 1; fi

vet:
	$(GO) vet ./...

staticcheck:
	@if command -v staticcheck >/dev/null; then echo staticcheck ./...; staticcheck ./...; \
	elif [ "$$CI" = true ]; then echo "staticcheck is not installed"; exit 1; \
	else echo "staticcheck is not installed: left out"; fi

unit:
	$(GO) test ./...

race:
ifeq ($(RACE),)
	@echo "no C compiler: the race detector is left out"
else
	$(GO) test $(RACE) -short $(CONCURRENT)
endif

# go.mod and go.sum are as go mod tidy would leave them (needs the network).
tidy:
	$(GO) mod tidy -diff

# An hour of stereo beside aubioonset: real-time factor, processor time, peak
# memory; then what every stage takes and allocates for a second of sound.
bench:
	$(GO) test -run '^$$' -bench 'Hour|Shelf' -benchtime 1x -timeout 30m ./cmd/loosedog
	$(GO) test -run '^$$' -bench Stages -benchtime 1x -timeout 30m ./cmd/loosedog
	$(GO) test -run '^$$' -bench 'Read|Survey|Scan|Bank|Tones|Pick|Detect' -benchtime 1s ./audio ./onset

# Tables of how well every kind of event is found, on sound takes and on spoiled
# ones. Takes some minutes.
accuracy:
	@$(GO) run -buildvcs=false ./cmd/accuracy -seeds $(SEEDS) $(DIR)

# Every fuzz target in turn.
fuzz:
	@set -e; for pkg in $$($(GO) list ./...); do \
	  for target in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
	    echo "$$pkg $$target"; $(GO) test -run '^$$' -fuzz "^$$target$$" -fuzztime $(FUZZTIME) $$pkg; \
	  done; \
	done

clean:
	rm -rf bin out
