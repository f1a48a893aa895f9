/*
 * src/history by hand, for tests/history_git.sh and tests/bench/history.sh:
 *
 *   history_drive init DIR
 *   history_drive open DIR                          may anything be recorded?
 *   history_drive status DIR PATTERN...             "A path", "C path", "D path", "! path"
 *   history_drive record DIR WHEN OFFSET MESSAGE PATH...
 *                                                   -PATH: deleted; PATH=FILE: FILE was checked
 *   history_drive keep DIR WHEN OFFSET MESSAGE PATTERN...    what status finds, recorded
 *   history_drive versions DIR PATH [LIMIT]
 *   history_drive at DIR PATH TEXT                  the version in force, then its bytes
 *   history_drive recorded DIR PATH
 *
 * Exit status 1: refused, the sentence on stderr.
 */
#include "base/file.h"
#include "history/history.h"

static HistorySettings settings(HistoryUse use) {
    return (HistorySettings){.use = use,
                             .store = getenv("DRIVE_STORE"),
                             .no_system_config = getenv("GIT_CONFIG_NOSYSTEM") != NULL,
                             .name = getenv("DRIVE_NAME"),
                             .mail = getenv("DRIVE_MAIL")};
}

static void show_version(const HistoryVersion *v) {
    printf("%s %s %lld %d %.*s <%.*s> %.*s\n", v->id, v->deleted ? "deleted" : v->blob,
           (long long)v->when, v->offset, STR_ARG(v->name), STR_ARG(v->mail), STR_ARG(v->summary));
}

static bool do_init(char **args, Err *err) {
    HistorySettings s = settings(HISTORY_READ);
    bool made;
    if (!history_init(args[0], &s, &made, err)) return false;
    printf("%s\n", made ? "made" : "there");
    return true;
}

static bool do_status(History *h, Arena *a, int n, char **args, Err *err) {
    HistoryChanges found;
    if (!history_status(h, (const char *const *)args, (size_t)n, a, &found, err)) return false;
    for (size_t i = 0; i < found.count; i++) {
        printf("%c %s\n", "ACD!"[found.items[i].kind], found.items[i].path);
    }
    return true;
}

static bool record(History *h, char **args, const HistoryFile *files, size_t count, Err *err) {
    HistoryNote note = {args[2], strtoll(args[0], NULL, 10), (int)strtol(args[1], NULL, 10)};
    char id[HISTORY_ID];
    if (!history_record(h, files, count, &note, id, err)) return false;
    printf("%s\n", id);
    return true;
}

static bool do_record(History *h, const char *dir, Arena *a, int n, char **args, Err *err) {
    HistoryFile *files = arena_array(a, (size_t)n, sizeof *files);
    for (int i = 3; i < n; i++) {
        HistoryFile *f = &files[i - 3];
        f->deleted = args[i][0] == '-';
        char *checked = strchr(args[i], '=');
        if (checked) *checked++ = '\0';
        f->path = args[i] + f->deleted;
        const char *from = checked ? checked : arena_printf(a, "%s/%s", dir, f->path).p;
        if (!f->deleted && !file_read(a, from, &f->text, NULL, err)) return false;
    }
    return record(h, args, files, (size_t)n - 3, err);
}

static bool do_keep(History *h, const char *dir, Arena *a, int n, char **args, Err *err) {
    HistoryChanges found;
    if (!history_status(h, (const char *const *)args + 3, (size_t)n - 3, a, &found, err)) {
        return false;
    }
    HistoryFile *files = arena_array(a, found.count + 1, sizeof *files);
    for (size_t i = 0; i < found.count; i++) {
        files[i] = (HistoryFile){.path = found.items[i].path,
                                 .deleted = found.items[i].kind == HISTORY_DELETED};
        const char *from = arena_printf(a, "%s/%s", dir, files[i].path).p;
        if (!files[i].deleted && !file_read(a, from, &files[i].text, NULL, err)) return false;
    }
    return record(h, args, files, found.count, err);
}

static bool do_versions(History *h, Arena *a, int n, char **args, Err *err) {
    HistoryVersions all;
    size_t limit = n > 1 ? (size_t)strtoul(args[1], NULL, 10) : 0;
    if (!history_versions(h, args[0], limit, a, &all, err)) return false;
    for (size_t i = 0; i < all.count; i++) {
        show_version(&all.items[i]);
    }
    return true;
}

static bool do_at(History *h, Arena *a, char **args, Err *err) {
    HistoryVersion v;
    Str bytes;
    if (!history_version_at(h, args[0], str_from(args[1]), a, &v, err)) return false;
    show_version(&v);
    if (!history_bytes(h, &v, a, &bytes, err)) return false;
    fwrite(bytes.p, 1, bytes.n, stdout);
    return true;
}

static bool do_recorded(History *h, Arena *a, char **args, Err *err) {
    Str bytes;
    bool found;
    if (!history_recorded(h, args[0], a, &bytes, &found, err)) return false;
    if (!found) return err_set(err, ERR_USAGE, "%s is not recorded", args[0]);
    fwrite(bytes.p, 1, bytes.n, stdout);
    return true;
}

static bool run(const char *verb, const char *dir, Arena *a, int n, char **args, Err *err) {
    bool writes = !strcmp(verb, "record") || !strcmp(verb, "keep") || !strcmp(verb, "open");
    HistorySettings s = settings(writes ? HISTORY_RECORD : HISTORY_READ);
    History *h = NULL;
    if (!history_open(dir, &s, &h, err)) return false;
    bool ok = !strcmp(verb, "open")                 ? true
              : !strcmp(verb, "status")             ? do_status(h, a, n, args, err)
              : !strcmp(verb, "record") && n > 2    ? do_record(h, dir, a, n, args, err)
              : !strcmp(verb, "keep") && n > 2      ? do_keep(h, dir, a, n, args, err)
              : !strcmp(verb, "versions") && n > 0  ? do_versions(h, a, n, args, err)
              : !strcmp(verb, "at") && n == 2       ? do_at(h, a, args, err)
              : !strcmp(verb, "recorded") && n == 1 ? do_recorded(h, a, args, err)
                                                    : err_set(err, ERR_USAGE, "what is %s?", verb);
    history_close(h);
    return ok;
}

int main(int argc, char **argv) {
    Err err = {0};
    if (argc < 3) {
        fprintf(stderr, "usage: history_drive VERB DIR ...\n");
        return 2;
    }
    Arena *a = arena_new();
    bool ok = !strcmp(argv[1], "init") ? do_init(argv + 2, &err)
                                       : run(argv[1], argv[2], a, argc - 3, argv + 3, &err);
    arena_free(a);
    if (ok) return 0;
    fprintf(stderr, "%s%s\n", err.kind == ERR_CHANGED ? "changed: " : "", err.text);
    return 1;
}
