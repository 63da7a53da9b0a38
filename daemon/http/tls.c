// TLS of the listener.
#include "http/internal.h"

#include <openssl/err.h>
#include <stdio.h>

static bool fail(char *error, size_t size, const char *what, const char *file) {
    const char *reason = ERR_reason_error_string(ERR_peek_last_error());
    snprintf(error, size, "cannot use the %s %s: %s", what, file,
             reason != NULL ? reason : "unknown reason");
    ERR_clear_error();
    return false;
}

static bool load(SSL_CTX *tls, const struct model *model, char *error, size_t size) {
    if (SSL_CTX_use_certificate_chain_file(tls, model->http_cert_file) != 1) {
        return fail(error, size, "certificate file", model->http_cert_file);
    }
    if (SSL_CTX_use_PrivateKey_file(tls, model->http_key_file, SSL_FILETYPE_PEM) != 1 ||
        SSL_CTX_check_private_key(tls) != 1) {
        return fail(error, size, "key file", model->http_key_file);
    }
    return true;
}

SSL_CTX *http_tls_new(const struct model *model, char *error, size_t size) {
    SSL_CTX *tls = SSL_CTX_new(TLS_server_method());
    if (tls == NULL) {
        snprintf(error, size, "out of memory");
        return NULL;
    }
    SSL_CTX_set_min_proto_version(tls, TLS1_2_VERSION);
    SSL_CTX_set_options(tls, SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION);
    SSL_CTX_set_session_cache_mode(tls, SSL_SESS_CACHE_OFF);
    if (!load(tls, model, error, size)) {
        SSL_CTX_free(tls);
        return NULL;
    }
    return tls;
}
