/*
 * Writes a book to measure on: make-book DIR JOBS, or one long log: make-book --log FILE MEGABYTES.
 * The same bytes every time. A job is a V8 with 16 springs and three visits: about 4 kB and 270
 * readings. One job in fifty has a slip in it (two digits swapped), so that there is something to
 * find. An engine has three jobs and keeps its spring part; a fifth of the engines have the
 * commonest one, HL-1450, the others 15 down to 2 in a hundred. Numbers and names are invented.
 */
#include "base/date.h"
#include "base/file.h"
#include <math.h>

enum { VALVES = 16, CYLINDERS = 8 };

typedef struct Draw {
    uint64_t state;
} Draw;

static uint64_t draw(Draw *d) { /* xorshift64* */
    d->state ^= d->state >> 12;
    d->state ^= d->state << 25;
    d->state ^= d->state >> 27;
    return d->state * 0x2545F4914F6CDD1Du;
}

/* A whole number from -n to n, nearer 0 more often. */
static int about(Draw *d, int n) {
    int a = (int)(draw(d) % (unsigned)(n + 1)), b = (int)(draw(d) % (unsigned)(n + 1));
    return a - b;
}

typedef struct Engine { /* what a visit finds again, worn a little: lengths in thou, loads in lbf */
    int seat[VALVES], open[VALVES], bind[VALVES], bare[VALVES], shim[VALVES];
    int day;
} Engine;

static const char *const valves[VALVES] = {"I1", "E1", "I2", "E2", "I3", "E3", "I4", "E4",
                                           "I5", "E5", "I6", "E6", "I7", "E7", "I8", "E8"};

typedef struct Part { /* a spring part and how many engines in a hundred have it */
    const char *name, *maker;
    unsigned share;
} Part;

static const Part parts[] = {
    {"HL-1450", "Hallick", 20}, {"HL-1460", "Hallick", 15}, {"TW-22", "Tarwick", 13},
    {"TW-24", "Tarwick", 11},   {"OX-170", "Oxlode", 9},    {"OX-182", "Oxlode", 8},
    {"MV-7", "Marlvane", 7},    {"MV-9", "Marlvane", 6},    {"BD-316", "Brendle", 5},
    {"BD-318", "Brendle", 4},   {"SK-40", "Skarle", 2}};
enum { PARTS = sizeof parts / sizeof *parts };

static unsigned engine_of(unsigned n) {
    return n / 3;
}

/* The shares are met exactly in every hundred engines that follow each other; 37 steps through a
 * hundred without coming twice to the same. */
static const Part *part_of(unsigned engine) {
    unsigned at = engine % 100 * 37 % 100, i = 0;
    while (i + 1 < PARTS && at >= parts[i].share)
        at -= parts[i++].share;
    return &parts[i];
}

static void engine_start(Engine *e, Draw *d, unsigned n) {
    e->day = 11000 + (int)(n % 7000);
    for (int i = 0; i < VALVES; i++) {
        e->seat[i] = 183 + about(d, 3);
        e->open[i] = e->seat[i] + 239 + about(d, 2);
        e->bind[i] = 1142 + about(d, 4);
        e->shim[i] = 15 * (1 + (int)(draw(d) % 3));
        e->bare[i] = 1722 + e->shim[i] + about(d, 5);
    }
}

static void heading(Buf *b, Engine *e, const char *title) {
    char day[DATE_TEXT];
    Date date = {e->day, -1};
    buf_printf(b, "\n%s  %s\nby = KL\n", date_text(date, day), title);
}

static void one_each(Buf *b, Draw *d, const char *what, int middle, int spread, int places,
                     const char *unit) {
    buf_printf(b, "%s =", what);
    for (int i = 0; i < CYLINDERS; i++) {
        buf_putc(b, ' ');
        buf_fixed(b, (middle + about(d, spread)) / pow(10, places), places);
    }
    buf_printf(b, " %s\n", unit);
}

static void springs(Buf *b, const Engine *e, bool slip) {
    buf_puts(b, "spring set = S1\n\nspring | spring load lbf @ 1.720 in | spring load @ 1.220 | "
                "bind height in\n");
    for (int i = 0; i < VALVES; i++) {
        int bind = e->bind[i];
        if (slip && i == 5) bind = 1412; /* for 1.142 */
        buf_printf(b, "#%-3d | %d | %d | %d.%03d\n", i + 1, e->seat[i], e->open[i], bind / 1000,
                   bind % 1000);
    }
}

static void heights(Buf *b, Engine *e, Draw *d) {
    buf_puts(b, "\nvalve | installed height in | shim in | spring\n");
    for (int i = 0; i < VALVES; i++) {
        int height = e->bare[i] - e->shim[i] + about(d, 1);
        buf_printf(b, "%s | %d.%03d  | .%03d   | #%d\n", valves[i], height / 1000, height % 1000,
                   e->shim[i], i + 1);
    }
}

static void header(Buf *b, unsigned n) {
    buf_printf(b,
               "job = 26-%05u\ntitle = Number %u, eight cylinders\nengine = GN-%u\n"
               "owner = Mill Lane boats %u\nlayout = V\ncylinders = 8\nvalves per cylinder = 2\n"
               "bore = 4.030 in\nstroke = 3.480 in\nrod length = 5.700 in\n"
               "spring part = %s\nshim stock = many x .015, many x .030, many x .060 in\n",
               n, n, engine_of(n), n % 97, part_of(engine_of(n))->name);
}

static void visit_heads(Buf *b, Engine *e, Draw *d) {
    heading(b, e, "Heads back from porting");
    buf_puts(b, "Guides sized, stems swabbed. Springs out of the drawer, all of one lot.\n");
    one_each(b, d, "chamber 1..8", 620, 3, 1, "cc");
    one_each(b, d, "dish volume 1..8", 50, 0, 1, "cc");
    one_each(b, d, "piston below deck 1..8", 10, 1, 3, "in");
    buf_puts(b, "limit bind clearance = at least .050 in by shop\n");
    buf_puts(b, "valve lift I = each .500 in\nvalve lift E = each .490 in\n");
    springs(b, e, false);
    heights(b, e, d);
}

static void visit_again(Buf *b, Engine *e, Draw *d, const char *title, bool slip) {
    e->day += 130 + (int)(draw(d) % 90);
    for (int i = 0; i < VALVES; i++) {
        int lost = (int)(draw(d) % 2);
        e->seat[i] -= lost;
        e->open[i] -= lost;
    }
    heading(b, e, title);
    buf_puts(b, "Nothing to see from outside; the owner heard nothing either.\n");
    one_each(b, d, "leak down 1..8", 6, 1, 0, "percent");
    springs(b, e, slip);
    heights(b, e, d);
}

static void write_job(Buf *b, unsigned n) {
    Draw d = {n * 0x9E3779B97F4A7C15u + 1};
    Engine e;
    engine_start(&e, &d, n);
    header(b, n);
    visit_heads(b, &e, &d);
    visit_again(b, &e, &d, "After the first season", false);
    visit_again(b, &e, &d, "After the second, springs once more", n % 50 == 17);
}

static bool put(const char *path, const Buf *b) { /* not synced: this is no shop's book */
    FILE *f = fopen(path, "w");
    if (!f) return false;
    bool ok = fwrite(b->p, 1, b->n, f) == b->n;
    return fclose(f) == 0 && ok;
}

static bool put_text(const char *dir, const char *name, const char *text) {
    char path[4096];
    Buf b = {0};
    buf_puts(&b, text);
    snprintf(path, sizeof path, "%s/%s", dir, name);
    bool ok = put(path, &b);
    buf_release(&b);
    return ok;
}

static bool make_folders(const char *dir) {
    char path[4096];
    Err err = {0};
    snprintf(path, sizeof path, "%s/jobs", dir);
    if (!file_mkdirs(path, &err)) return false;
    snprintf(path, sizeof path, "%s/parts", dir);
    return file_mkdirs(path, &err);
}

static bool write_cards(const char *dir) {
    bool ok = true;
    for (int i = 0; ok && i < PARTS; i++) {
        char name[64], text[256];
        snprintf(name, sizeof name, "parts/%s.part", parts[i].name);
        snprintf(text, sizeof text,
                 "maker = %s\nspring load = 182 lbf @ 1.720 in, 421 @ 1.220\n"
                 "bind height = 1.142 in\nlimit bind clearance = at least .050 in\n",
                 parts[i].maker);
        ok = put_text(dir, name, text);
    }
    return ok;
}

static bool write_book(const char *dir, unsigned jobs) {
    if (!make_folders(dir)) return false;
    bool ok = put_text(dir, "shop.vocab",
                       "units = us\nlimit bind clearance = at least .060 in\n"
                       "limit chamber spread = at most 1.0 cc\n") &&
              write_cards(dir);
    Buf b = {0};
    for (unsigned n = 1; ok && n <= jobs; n++) {
        char path[4096];
        snprintf(path, sizeof path, "%s/jobs/26-%05u.job", dir, n);
        buf_clear(&b);
        write_job(&b, n);
        ok = put(path, &b);
    }
    buf_release(&b);
    return ok;
}

static bool write_log(const char *path, size_t megabytes) {
    Draw d = {77};
    Engine e;
    Buf b = {0};
    engine_start(&e, &d, 1);
    header(&b, 1);
    visit_heads(&b, &e, &d);
    while (b.n < megabytes * 1000000) {
        e.day -= 120; /* more visits than seasons */
        e.seat[0] = e.open[0] - 239;
        visit_again(&b, &e, &d, "Again", false);
        if (e.day > 2900000) break;
    }
    bool ok = put(path, &b);
    buf_release(&b);
    return ok;
}

int main(int argc, char **argv) {
    bool ok = false;
    if (argc == 4 && strcmp(argv[1], "--log") == 0)
        ok = write_log(argv[2], strtoul(argv[3], NULL, 10));
    else if (argc == 3)
        ok = write_book(argv[1], (unsigned)strtoul(argv[2], NULL, 10));
    else
        fprintf(stderr, "usage: make-book DIR JOBS | make-book --log FILE MEGABYTES\n");
    if (!ok) perror("make-book");
    return ok ? 0 : 1;
}
