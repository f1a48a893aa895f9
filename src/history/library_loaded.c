/* git_bind for whoever uses libthou: the shared libgit2, found at run time. */
#include "history/library.h"

#include <dlfcn.h>
#include <stddef.h>

typedef struct Call {
    const char *symbol;
    size_t field; /* offset of its pointer in Git */
} Call;

#define GIT_ROW(name) {"git_" #name, offsetof(Git, name)},
static const Call calls[] = {GIT_CALLS(GIT_ROW)};
#undef GIT_ROW

bool git_bind(Git *git, Err *err) {
    const char *file = "libgit2.so." LIBGIT2_SOVERSION;
    /* never unloaded: the libraries it brings along leave work for the end of the process */
    void *library = dlopen(file, RTLD_LAZY | RTLD_LOCAL | RTLD_NODELETE);
    if (!library) {
        return err_set(err, ERR_HISTORY,
                       "history needs the library libgit2 %s, which can't be loaded (%s): "
                       "install the package libgit2-%s",
                       LIBGIT2_SOVERSION, dlerror(), LIBGIT2_SOVERSION);
    }
    for (size_t i = 0; i < sizeof calls / sizeof *calls; i++) {
        void *entry = dlsym(library, calls[i].symbol);
        if (!entry) {
            return err_set(err, ERR_HISTORY,
                           "%s lacks %s: it is not the libgit2 this program was built for", file,
                           calls[i].symbol);
        }
        memcpy((char *)git + calls[i].field, &entry, sizeof entry);
    }
    return true;
}
