// TLS towards the broker. The context is our own rather than the library's, because the library
// checks the certificate against what it connects to, which here is a resolved address; and because
// an unusable file shall be told at the start, by name.
#include "mqtt/internal.h"

#include <arpa/inet.h>
#include <openssl/err.h>
#include <openssl/x509v3.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

static bool is_numeric(const char *host) {
    unsigned char address[sizeof(struct in6_addr)];
    return inet_pton(AF_INET, host, address) == 1 || inet_pton(AF_INET6, host, address) == 1;
}

static bool fail(char *error, size_t size, const char *what, const char *file) {
    const char *reason = ERR_reason_error_string(ERR_peek_last_error());
    snprintf(error, size, "cannot use the %s %s: %s", what, file,
             reason != NULL ? reason : "unknown reason");
    ERR_clear_error();
    return false;
}

static bool load_files(SSL_CTX *tls, const struct mqtt_options *options, char *error, size_t size) {
    if (SSL_CTX_load_verify_file(tls, options->ca_file) != 1) {
        return fail(error, size, "broker's CA file", options->ca_file);
    }
    if (options->cert_file == NULL) {
        return true;
    }
    if (SSL_CTX_use_certificate_chain_file(tls, options->cert_file) != 1) {
        return fail(error, size, "certificate file", options->cert_file);
    }
    if (SSL_CTX_use_PrivateKey_file(tls, options->key_file, SSL_FILETYPE_PEM) != 1 ||
        SSL_CTX_check_private_key(tls) != 1) {
        return fail(error, size, "key file", options->key_file);
    }
    return true;
}

// A refusal shows in the library as a mere protocol error, if at all; this keeps what was wrong.
static int on_verify(int is_sound, X509_STORE_CTX *store) {
    const SSL *ssl = X509_STORE_CTX_get_ex_data(store, SSL_get_ex_data_X509_STORE_CTX_idx());
    struct mqtt *mqtt = SSL_CTX_get_app_data(SSL_get_SSL_CTX(ssl));
    if (!is_sound) {
        mqtt->tls_error = X509_STORE_CTX_get_error(store);
    }
    return is_sound;
}

static bool expect_host(SSL_CTX *tls, const char *host) {
    X509_VERIFY_PARAM *parameters = SSL_CTX_get0_param(tls);
    SSL_CTX_set_verify(tls, SSL_VERIFY_PEER, on_verify);
    return is_numeric(host) ? X509_VERIFY_PARAM_set1_ip_asc(parameters, host) == 1
                            : X509_VERIFY_PARAM_set1_host(parameters, host, 0) == 1;
}

// The library announces the address it connects to as the server's name; before the handshake's
// first byte this puts the configured name in its place.
static void announce_host(const SSL *ssl, int where, int value) {
    const struct mqtt *mqtt = SSL_CTX_get_app_data(SSL_get_SSL_CTX(ssl));
    (void)value;
    if ((where & SSL_CB_HANDSHAKE_START) != 0) {
        SSL_set_tlsext_host_name((SSL *)(uintptr_t)ssl, (char *)(uintptr_t)mqtt->options.host);
    }
}

static bool configure(SSL_CTX *tls, const struct mqtt_options *options, char *error, size_t size) {
    SSL_CTX_set_min_proto_version(tls, TLS1_2_VERSION);
    SSL_CTX_set_mode(tls, SSL_MODE_ENABLE_PARTIAL_WRITE | SSL_MODE_ACCEPT_MOVING_WRITE_BUFFER);
    if (!load_files(tls, options, error, size)) {
        return false;
    }
    if (!expect_host(tls, options->host)) {
        snprintf(error, size, "cannot verify a broker called %s", options->host);
        return false;
    }
    if (!is_numeric(options->host)) {
        SSL_CTX_set_info_callback(tls, announce_host);
    }
    return true;
}

SSL_CTX *mqtt_tls_new(struct mqtt *mqtt, char *error, size_t size) {
    SSL_CTX *tls = SSL_CTX_new(TLS_client_method());
    if (tls == NULL) {
        snprintf(error, size, "no memory for TLS");
        return NULL;
    }
    SSL_CTX_set_app_data(tls, mqtt);
    if (!configure(tls, &mqtt->options, error, size)) {
        SSL_CTX_free(tls);
        return NULL;
    }
    return tls;
}
