/* What sealing is made of, by name: canonical JSON with its digest, and signatures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../base/ef-json-canonical.h"
#include "../record/ef-seal-key.h"

static JsonNode *
canonical (const EfJson *input,
           GError **error)
{
  static const char *const members[] = { "value", NULL };
  g_auto (EfJson) value = ef_json_optional (input, "value");
  g_autofree char *text = NULL;
  g_autofree char *digest = NULL;
  JsonObject *object;

  ef_json_only (input, members);
  if (value.node == NULL)
    ef_json_fail (input, EF_ERROR_PARSE, "value: expected a JSON value, found none");
  if (!ef_json_finish (input->context, error))
    return NULL;
  text = ef_json_canonical (value.node, error);
  if (text == NULL)
    return NULL;

  digest = ef_sha256 (text, -1);
  object = json_object_new ();
  json_object_set_string_member (object, "text", text);
  json_object_set_string_member (object, "sha256", digest);

  return ef_json_object_node (object);
}

static JsonNode *
signature (const EfJson *input,
           GError **error)
{
  static const char *const members[] = { "key", "text", "signature", NULL };
  g_autofree char *key = ef_json_string (input, "key");
  g_autofree char *text = ef_json_string (input, "text");
  g_autofree char *signed_by = ef_json_string (input, "signature");
  JsonObject *object;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error))
    return NULL;
  if (!ef_seal_public_key_valid (key))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "key: expected 64 small hexadecimal digits, found \"%s\"", key);
      return NULL;
    }

  object = json_object_new ();
  json_object_set_boolean_member (object, "holds", ef_seal_signature_holds (key, text, signed_by));

  return ef_json_object_node (object);
}

const EfCalc ef_calc_record[] = {
  { "canonical-json", "JSON as one canonical text, and its digest",
    "value: any JSON value",
    "text: canonical JSON\nsha256: 64 hexadecimal digits",
    "{\"value\": {\"numbers\": [333333333.33333329, 1E30, 4.50, 2e-3], \"b\": true, \"a\": \"\\u20ac\"}}",
    "RFC 8785; FIPS 180-4", canonical },
  { "signature", "whether an Ed25519 signature is that of a text by a key",
    "key: public key, 64 hexadecimal digits\ntext: string\nsignature: 128 hexadecimal digits",
    "holds: boolean",
    "{\"key\": \"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c\", \"text\": \"r\", \"signature\":"
    " \"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00\"}",
    "RFC 8032 (the example is its test 2)", signature },
  { NULL }
};
