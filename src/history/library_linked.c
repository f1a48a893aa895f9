/*
 * git_bind for the program itself: libgit2 linked in, which costs nothing until it is called. Not
 * part of libthou; the Makefile puts it before the library, whose own git_bind is then not taken.
 */
#include "history/library.h"

#include "base/fatal.h"

#define GIT_TAKE(name) git->name = git_##name;
bool git_bind(Git *git, Err *err) {
    (void)err;
    GIT_CALLS(GIT_TAKE)
    return true;
}
#undef GIT_TAKE

/*
 * thou speaks to no network. libgit2 would read the machine's certificates and start a library for
 * encryption at its start, which takes longer than most of what is asked of it; the linker puts
 * these in their place (-Wl,--wrap).
 */
int __wrap_git_mbedtls_stream_global_init(void);
int __wrap_git_mbedtls_stream_global_init(void) {
    return 0;
}

int __wrap_git_transport_ssh_global_init(void);
int __wrap_git_transport_ssh_global_init(void) {
    return 0;
}

/* What libgit2 wants for logging in to a server, of a library that Debian has not for linking. */
#define NO_NETWORK(name) \
    void name(void);     \
    void name(void) {    \
        fatal(#name);    \
    }
NO_NETWORK(gss_delete_sec_context)
NO_NETWORK(gss_display_status)
NO_NETWORK(gss_import_name)
NO_NETWORK(gss_indicate_mechs)
NO_NETWORK(gss_init_sec_context)
NO_NETWORK(gss_release_buffer)
NO_NETWORK(gss_release_name)
NO_NETWORK(gss_release_oid_set)
NO_NETWORK(gss_test_oid_set_member)

extern const void *const GSS_C_NT_HOSTBASED_SERVICE;
const void *const GSS_C_NT_HOSTBASED_SERVICE = NULL;
