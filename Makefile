# thou: the build history of an engine shop, in plain text.
# `make demo` is the newcomer's way in; `make help` lists the rest.

CC ?= cc
Q := $(if $(V),,@)
PREFIX ?= /usr/local
B ?= build
VERSION := 0.1.0

WARN = -Wall -Wextra -Werror -Wshadow -Wpointer-arith -Wcast-qual -Wstrict-prototypes \
       -Wmissing-prototypes -Wold-style-definition -Wformat=2 -Wundef -Wvla -Wwrite-strings \
       -Wnull-dereference -Wunused -Wduplicated-cond -Wlogical-op
OPT ?= -O3 -g
SAN ?=
CPPFLAGS += -D_GNU_SOURCE -DTHOU_VERSION='"$(VERSION)"' -Isrc -Iinclude -include base/banned.h
# Structures are cleared by the hundred for a job. GCC would do it with `rep stos`, which takes
# longer to start than plain stores take for all of one.
CLEAR = -mmemset-strategy=unrolled_loop:512:noalign,libcall:-1:noalign
CLEAR := $(shell $(CC) $(CLEAR) -E -x c /dev/null >/dev/null 2>&1 && echo $(CLEAR))
CFLAGS += -std=c11 $(OPT) $(CLEAR) $(WARN) $(SAN) -pthread -fno-math-errno
LDLIBS = -lsqlite3 -lgsl -lgslcblas -lm -pthread
# The program has all its libraries linked in, where their .a files are: finding and binding shared
# ones at each start takes longer than most of what is asked of it (libgit2 alone 16 ms). SHARED=1
# links it with the shared ones, as a distribution would; so do builds under a sanitizer.
LINKED := $(if $(SHARED)$(SAN),,$(filter /%,$(shell $(CC) -print-file-name=libgit2.a)))
LINKED_FLAGS = -static -Wl,--no-warnings \
               -Wl,--wrap=git_mbedtls_stream_global_init,--wrap=git_transport_ssh_global_init \
               -lgit2 -lmbedtls -lmbedx509 -lmbedcrypto -lhttp_parser -lssh2 -lssl -lcrypto -lpcre2-8 -lz
LINKED_GIT := $(if $(LINKED),$(B)/obj/history/library_linked.o)

SRC := $(filter-out src/cli/main.c src/history/library_linked.c,$(wildcard src/*/*.c))
GEN := $(B)/gen/texts.c
OBJ := $(SRC:src/%.c=$(B)/obj/%.o) $(B)/gen/texts.o
LIB := $(B)/libthou.a
BIN := $(B)/thou

UNIT := $(patsubst tests/unit/%.c,$(B)/test/%,$(wildcard tests/unit/*.c))
FUZZED := $(filter-out replay,$(patsubst tests/fuzz/%.c,%,$(wildcard tests/fuzz/*.c)))
# programs that the scripts drive, and what they preload
TOOLS := $(patsubst tests/tools/%.c,$(B)/tool/%,$(wildcard tests/tools/*.c)) \
         $(patsubst %,$(B)/tool/replay-%,$(FUZZED)) \
         $(patsubst tests/tools/preload/%.c,$(B)/tool/%.so,$(wildcard tests/tools/preload/*.c))
SCRIPTS := $(sort $(wildcard tests/*.sh))

.PHONY: all demo test install uninstall sanitize valgrind fuzz lint format man editors bench coverage deps deps-dev \
        clean help regen
all: $(BIN)

help:
	@sed -n 's/^#: //p' Makefile

#: make            build the program at build/thou
#: make demo       install what is missing, build, and run the main job on the book in examples/
#: make test       install what is missing, build and run all tests
#: make install    PREFIX=/usr/local; the program, its manual, completions, editors' files, the format
#: make sanitize   all tests under AddressSanitizer and UBSan, the corpus under valgrind
#: make fuzz       the fuzz targets, MINUTES=30 each
#: make lint       clang-format, clang-tidy, cppcheck, layers
#: make bench      the figures, written to tests/bench/FIGURES.md
#: make coverage   lines reached by the tests

deps:
	@sh tests/tools/need-packages.sh build

deps-dev:
	@sh tests/tools/need-packages.sh dev

$(B)/gen/texts.c: format/trade.vocab format/template.job format/start.vocab format/start.job \
                  src/index/schema.sql src/show/page.css $(wildcard src/cli/complete.*) \
                  tests/tools/embed.sh
	@mkdir -p $(@D)
	sh tests/tools/embed.sh > $@.new && mv $@.new $@

$(B)/gen/%.o: $(B)/gen/%.c
	@echo "  cc    $<"
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c -o $@ $<

$(B)/obj/%.o: src/%.c
	@mkdir -p $(@D)
	@echo "  cc    $<"
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c -o $@ $<

$(LIB): $(OBJ)
	@rm -f $@
	$(Q)ar rcs $@ $(OBJ)

$(BIN): $(B)/obj/cli/main.o $(LIB) $(LINKED_GIT)
	@echo "  link  $@"
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $< $(LINKED_GIT) $(LIB) $(if $(LINKED),$(LINKED_FLAGS)) $(LDLIBS)

$(B)/test/%: tests/unit/%.c $(LIB)
	@mkdir -p $(@D)
	@echo "  test  $<"
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -O1 -Itests -MMD -MP -o $@ $< $(LIB) -lcmocka $(LDLIBS)

$(B)/tool/replay-%: tests/fuzz/%.c tests/fuzz/replay.c $(LIB)
	@mkdir -p $(@D)
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -o $@ $(filter %.c,$^) $(LIB) $(LDLIBS)

$(B)/tool/%: tests/tools/%.c $(LIB)
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -o $@ $< $(LIB) $(LDLIBS)

$(B)/tool/%.so: tests/tools/preload/%.c
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) -std=c11 -O2 -g $(WARN) -fPIC -shared -o $@ $<

# Measuring is done on its own, with nothing else running: make bench, not make test.
BENCH := $(patsubst tests/bench/%.c,$(B)/bench/%,$(wildcard tests/bench/*.c))
$(B)/bench/%: tests/bench/%.c $(LIB)
	@mkdir -p $(@D)
	$(CC) $(CPPFLAGS) $(CFLAGS) -Itests -MMD -MP -o $@ $< $(LIB) $(LDLIBS)

demo: deps
	@$(MAKE) --no-print-directory all
	@sh tests/tools/demo.sh $(BIN)

test: deps
	@$(MAKE) --no-print-directory all $(UNIT) $(TOOLS) $(B)/bench/make-book
	@B=$(B) CC="$(CC)" SAN="$(SAN)" sh tests/tools/run-tests.sh $(UNIT) $(SCRIPTS)

bench: deps
	@$(MAKE) --no-print-directory all $(BENCH) $(TOOLS)
	@B=$(B) sh tests/tools/bench.sh

# The same tests on a build in which every arena object is its own allocation, under AddressSanitizer and
# UBSan; then the corpus and the examples under valgrind with the plain build.
SANFLAGS = -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer -DTHOU_ARENA_DEBUG
sanitize:
	@$(MAKE) --no-print-directory B=build-san SAN="$(SANFLAGS)" OPT="-O1 -g" WARN= test
	@$(MAKE) --no-print-directory valgrind

# valgrind can only watch over the memory of a program whose C library is a shared one
$(B)/shared/thou: $(B)/obj/cli/main.o $(LIB)
	@mkdir -p $(@D)
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $< $(LIB) $(LDLIBS)

valgrind: $(B)/shared/thou
	@B=$(B)/shared sh tests/tools/valgrind.sh

# libFuzzer with clang; what it finds goes to tests/fuzz/found/, which tests/fuzz.sh replays.
MINUTES ?= 30
FUZZFLAGS = -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=undefined -DTHOU_ARENA_DEBUG
fuzz:
	@$(MAKE) --no-print-directory B=build-fuzz CC=clang WARN= OPT="-O1 -g" SAN="$(FUZZFLAGS)" fuzz-build
	@B=build-fuzz MINUTES=$(MINUTES) sh tests/tools/fuzz.sh

fuzz-build: $(LIB)
	@for t in $(FUZZED); do \
	    $(CC) $(CPPFLAGS) $(CFLAGS) -fsanitize=fuzzer,address,undefined -o $(B)/fuzz-$$t tests/fuzz/$$t.c $(LIB) $(LDLIBS) || exit 1; \
	done

coverage:
	@$(MAKE) --no-print-directory B=build-cov OPT="-O0 -g --coverage" SAN="--coverage" WARN= test
	@B=build-cov sh tests/tools/coverage.sh

# The manual comes from the table of commands and the vocabulary: tests/tools/manual.c.
MAN := $(B)/man/thou.1
man: $(MAN)
$(MAN): $(B)/tool/manual format/thou-log.man
	@mkdir -p $(@D)
	$(Q)$(B)/tool/manual $(@D) format/thou-log.man

# Editors' files hold the names of the vocabulary; they are kept in the repository.
editors: $(B)/tool/editors
	$(B)/tool/editors format/editors

SHARE = $(DESTDIR)$(PREFIX)/share
EDITORS = $(filter-out format/editors/README.md,$(wildcard format/editors/*/*.* format/editors/*/*/*.*))
install: $(BIN) $(MAN)
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/lib $(DESTDIR)$(PREFIX)/include/thou $(SHARE)/thou \
	    $(SHARE)/man/man1 $(SHARE)/man/man5 $(SHARE)/bash-completion/completions \
	    $(SHARE)/zsh/site-functions $(SHARE)/fish/vendor_completions.d
	install -m 755 $(BIN) $(DESTDIR)$(PREFIX)/bin/thou
	install -m 644 $(LIB) $(DESTDIR)$(PREFIX)/lib/libthou.a
	install -m 644 include/thou/thou.h $(DESTDIR)$(PREFIX)/include/thou/thou.h
	install -m 644 format/*.md format/trade.vocab $(SHARE)/thou/
	install -m 644 $(B)/man/*.1 $(SHARE)/man/man1/
	install -m 644 $(B)/man/*.5 $(SHARE)/man/man5/
	$(BIN) completion bash > $(SHARE)/bash-completion/completions/thou
	$(BIN) completion zsh > $(SHARE)/zsh/site-functions/_thou
	$(BIN) completion fish > $(SHARE)/fish/vendor_completions.d/thou.fish
	for f in $(EDITORS:format/%=%) editors/README.md; do install -D -m 644 format/$$f $(SHARE)/thou/$$f || exit 1; done

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/thou $(DESTDIR)$(PREFIX)/lib/libthou.a $(DESTDIR)$(PREFIX)/include/thou/thou.h \
	    $(SHARE)/man/man1/thou.1 $(SHARE)/man/man1/thou-*.1 $(SHARE)/man/man5/thou-log.5 \
	    $(SHARE)/bash-completion/completions/thou $(SHARE)/zsh/site-functions/_thou \
	    $(SHARE)/fish/vendor_completions.d/thou.fish
	rm -rf $(SHARE)/thou

lint:
	@sh tests/tools/lint.sh

format:
	clang-format -i $$(git ls-files '*.c' '*.h')

clean:
	rm -rf $(B) $(B)-*

-include $(OBJ:.o=.d) $(B)/obj/cli/main.d $(B)/obj/history/library_linked.d $(UNIT:=.d) $(TOOLS:=.d)
