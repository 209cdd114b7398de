/* SPDX-License-Identifier: MIT
 *
 * Reading a module: what the values mean, and what is wrong with them in a person's words.
 */
#include "module_file.h"

#include "text_file.h"

#include <string.h>

static bool is_id_before(cfg_opt_t *messages, struct lw_id_key key)
{
    for (unsigned i = 0; i + 1 < cfg_opt_size(messages); i++) {
        struct lw_id_key earlier = { 0 };
        if (lw_id_parse(cfg_getstr(cfg_opt_getnsec(messages, i), "id"), &earlier) == 0 && lw_id_key_equal(earlier, key))
            return true;
    }
    return false;
}

/* What is wrong with the identifier of the last message; NULL if nothing is. */
static const char *wrong_id(cfg_opt_t *messages, cfg_t *message)
{
    struct lw_id_key key = { 0 };
    if (cfg_getstr(message, "id")[0] == '\0')
        return "without identifier: write one, such as id = \"3A0\"";
    if (lw_id_parse(cfg_getstr(message, "id"), &key) != 0)
        return "with a bad id: write 3 hexadecimal digits up to 7FF, or 8 up to 1FFFFFFF";
    if (is_id_before(messages, key))
        return "with an id that another has: keep one of the two, or write another id";
    return NULL;
}

static const char *wrong_length(cfg_t *message)
{
    if (cfg_size(message, "length") == 0)
        return "without length: write its data bytes, such as length = 8";
    if (cfg_getint(message, "length") > LW_CLASSIC_MAX_LEN && !cfg_getbool(message, "fd"))
        return "with more than 8 bytes: write fd = true beside it if it is CAN FD, or a length up to 8";
    return NULL;
}

static const char *wrong_rhythm(cfg_t *message)
{
    double every = cfg_getfloat(message, "every-ms"), gap = cfg_getfloat(message, "shortest-gap-ms");
    if (every < 0.001 && gap < 0.001)
        return "without rhythm: write every-ms = 100, or shortest-gap-ms = 100 if it is sent on event";
    if (every >= 0.001 && gap > every)
        return "with a shortest gap above its period: write shortest-gap-ms smaller than every-ms, or leave it out";
    return NULL;
}

static int check_message(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *message = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    const char *wrong = wrong_id(opt, message);
    wrong = wrong ? wrong : wrong_length(message);
    wrong = wrong ? wrong : wrong_rhythm(message);
    if (cfg_opt_size(opt) > LW_MODULE_MESSAGES)
        cfg_error(cfg, "more messages than this program weighs: write at most %d", LW_MODULE_MESSAGES);
    else if (strlen(cfg_title(message)) >= LW_NAME_MAX)
        cfg_error(cfg, "the name \"%.40s\" is too long: write at most %d letters", cfg_title(message), LW_NAME_MAX - 1);
    else if (wrong)
        cfg_error(cfg, "message \"%s\" %s", cfg_title(message), wrong);
    else
        return 0;
    return -1;
}

static int check_module(cfg_t *cfg, cfg_opt_t *opt)
{
    const char *name = cfg_title(cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1));
    if (cfg_opt_size(opt) > 1)
        cfg_error(cfg, "a second module \"%.40s\": write it into a file of its own", name);
    else if (strlen(name) >= LW_NAME_MAX)
        cfg_error(cfg, "the name \"%.40s\" is too long: write at most %d letters", name, LW_NAME_MAX - 1);
    else
        return 0;
    return -1;
}

static void take_message(cfg_t *section, struct lw_module_message *out)
{
    memset(out, 0, sizeof(*out));
    lw_id_parse(cfg_getstr(section, "id"), &out->key);
    snprintf(out->name, sizeof(out->name), "%s", cfg_title(section));
    out->len = (uint8_t)cfg_getint(section, "length");
    if (cfg_getbool(section, "fd"))
        out->format = LW_FRAME_FD | (cfg_getbool(section, "switch-rate") ? LW_FRAME_BRS : 0);
    out->period_ns = lw_text_ns(section, "every-ms");
    out->shortest_gap_ns = lw_text_ns(section, "shortest-gap-ms");
    out->jitter_ns = lw_text_ns(section, "jitter-ms");
    out->deadline_ns = lw_text_ns(section, "deadline-ms");
}

static struct lw_reading rate_of(cfg_t *module, const char *name)
{
    long rate = cfg_getint(module, name);
    return rate > 0 ? LW_KNOWN(rate) : LW_UNKNOWN;
}

static int take_module(cfg_t *cfg, void *out)
{
    struct lw_module *module = out;
    memset(module, 0, sizeof(*module));
    if (cfg_size(cfg, "module") == 0)
        return lw_text_file_refuse(cfg, "no module in it: write module \"hopper load sensor\" { ... } around the messages");
    cfg_t *section = cfg_getnsec(cfg, "module", 0);
    if (cfg_size(section, "message") == 0)
        return lw_text_file_refuse(cfg, "a module without messages: write at least one message \"...\" { ... }");
    snprintf(module->name, sizeof(module->name), "%s", cfg_title(section));
    module->bit_rate_bps = rate_of(section, "bit-rate");
    module->data_bit_rate_bps = rate_of(section, "data-bit-rate");
    for (unsigned i = 0; i < cfg_size(section, "message"); i++)
        take_message(cfg_getnsec(section, "message", i), &module->messages[module->n_messages++]);
    return 0;
}

static const struct lw_text_advice advice[] = {
    { "no such option", "write bit-rate or data-bit-rate in a module; in a message: id, length, fd, switch-rate, every-ms, "
      "shortest-gap-ms, jitter-ms or deadline-ms" },
    { "missing title", "write a name in quotes behind it, such as \"hopper load\"" },
};

static const struct lw_text_check checks[] = {
    { "loomwatch-module", lw_text_check_version }, { "module", check_module }, { "module|bit-rate", lw_text_check_bit_rate },
    { "module|data-bit-rate", lw_text_check_bit_rate }, { "module|message", check_message },
    { "module|message|length", lw_text_check_length }, { "module|message|every-ms", lw_text_check_ms },
    { "module|message|shortest-gap-ms", lw_text_check_ms }, { "module|message|jitter-ms", lw_text_check_ms },
    { "module|message|deadline-ms", lw_text_check_ms },
};

static const struct lw_text_file_kind modules = {
    .what = "module file", .first_word = "loomwatch-module",
    .where_from = "copy config/modules/hopper-load-sensor.module to write one",
    .like = "write it like config/modules/hopper-load-sensor.module",
    .advice = advice, .n_advice = sizeof(advice) / sizeof(advice[0]),
    .checks = checks, .n_checks = sizeof(checks) / sizeof(checks[0]),
};

int lw_module_read(const char *path, struct lw_module *out, char *message, size_t size)
{
    cfg_opt_t messages[] = {
        CFG_STR("id", "", CFGF_NONE), CFG_INT("length", 0, CFGF_NODEFAULT), CFG_BOOL("fd", cfg_false, CFGF_NONE),
        CFG_BOOL("switch-rate", cfg_true, CFGF_NONE), CFG_FLOAT("every-ms", 0, CFGF_NONE),
        CFG_FLOAT("shortest-gap-ms", 0, CFGF_NONE), CFG_FLOAT("jitter-ms", 0, CFGF_NONE),
        CFG_FLOAT("deadline-ms", 0, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t module[] = {
        CFG_INT("bit-rate", 0, CFGF_NONE), CFG_INT("data-bit-rate", 0, CFGF_NONE),
        CFG_SEC("message", messages, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_END(),
    };
    cfg_opt_t top[] = {
        CFG_INT("loomwatch-module", 0, CFGF_NONE), CFG_SEC("module", module, CFGF_MULTI | CFGF_TITLE), CFG_END(),
    };
    return lw_text_file_read(&modules, path, top, take_module, out, message, size);
}
