/*
 * libgit2, begun when history is first asked for. The usual shared library would cost every start
 * of the program several milliseconds (it brings along libraries for the network), also those that
 * only compute or search. So the program has it linked in (library_linked.c), and other users of
 * libthou have it loaded at its first use (library_loaded.c). Inside this room only.
 */
#ifndef THOU_HISTORY_LIBRARY_H
#define THOU_HISTORY_LIBRARY_H

#include "base/err.h"
#include <git2.h>

/* One row a function that is used: its name without `git_`. */
#define GIT_CALLS(X)               \
    X(libgit2_init)                \
    X(libgit2_shutdown)            \
    X(libgit2_opts)                \
    X(error_last)                  \
    X(error_clear)                 \
    X(attr_get_many)               \
    X(attr_value)                  \
    X(blob_create_from_buffer)     \
    X(blob_free)                   \
    X(blob_lookup)                 \
    X(blob_rawcontent)             \
    X(blob_rawsize)                \
    X(buf_dispose)                 \
    X(commit_author)               \
    X(commit_create)               \
    X(commit_free)                 \
    X(commit_id)                   \
    X(commit_lookup)               \
    X(commit_lookup_prefix)        \
    X(commit_message)              \
    X(commit_parent_id)            \
    X(commit_parentcount)          \
    X(commit_time)                 \
    X(commit_tree)                 \
    X(commit_tree_id)              \
    X(config_free)                 \
    X(config_get_bool)             \
    X(config_get_string)           \
    X(filter_list_apply_to_buffer) \
    X(filter_list_free)            \
    X(filter_list_load)            \
    X(ignore_path_is_ignored)      \
    X(index_add)                   \
    X(index_free)                  \
    X(index_get_bypath)            \
    X(index_has_conflicts)         \
    X(index_open)                  \
    X(index_read)                  \
    X(index_remove)                \
    X(index_write)                 \
    X(message_prettify)            \
    X(odb_free)                    \
    X(odb_hash)                    \
    X(odb_object_data)             \
    X(odb_object_free)             \
    X(odb_object_size)             \
    X(odb_object_type)             \
    X(odb_read)                    \
    X(odb_write)                   \
    X(oid_fromstr)                 \
    X(oid_fromstrn)                \
    X(oid_tostr)                   \
    X(reference_free)              \
    X(reference_lookup)            \
    X(reference_name_to_id)        \
    X(reference_symbolic_target)   \
    X(reference_target)            \
    X(reference_type)              \
    X(repository_commondir)        \
    X(repository_config_snapshot)  \
    X(repository_discover)         \
    X(repository_free)             \
    X(repository_index)            \
    X(repository_init)             \
    X(repository_is_bare)          \
    X(repository_is_shallow)       \
    X(repository_odb)              \
    X(repository_open_ext)         \
    X(repository_path)             \
    X(repository_state)            \
    X(repository_workdir)          \
    X(signature_free)              \
    X(signature_new)               \
    X(tree_create_updated)         \
    X(tree_free)                   \
    X(tree_id)                     \
    X(tree_lookup)

#define GIT_FIELD(name) __typeof__(git_##name) *(name);
typedef struct Git {
    bool started;
    GIT_CALLS(GIT_FIELD)
} Git;
#undef GIT_FIELD

/* Fills in the library's functions: from what was linked in, or from the library as the system has
 * it, which then stays until the end of the process. */
bool git_bind(Git *git, Err *err);

/* Binds and starts the library; *git is all zero before. After false, git_stop is still right. */
bool git_start(Git *git, bool no_system_config, Err *err);
void git_stop(Git *git);

/* Turns the failure `code` of the last call into *err: "WHAT: why; what to do". Always false, in a
 * form that shows (as err_set). */
#define git_fail(...) (git_err_fill(__VA_ARGS__), err_false())
void git_err_fill(const Git *git, int code, Err *err, const char *what, ...)
    __attribute__((format(printf, 4, 5)));

#endif
