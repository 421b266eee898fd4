/* Any bytes as YAML and as shop data: refused with one line that has a place, or read. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>
#include <lua.h>

#include "data/shop.h"
#include "data/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_message(const char *message) {
  if (strncmp(message, "x.yaml:", 7) != 0 || strchr(message, '\n')) {
    abort();
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  const char *bytes = (const char *)data;
  fettle_yaml_problem problem = {0};
  fettle_yaml *yaml = fettle_yaml_read("x.yaml", bytes, size, &problem);
  if (!yaml) {
    check_message(problem.message);
  }
  fettle_yaml_free(yaml);

  /* The same bytes as the body of shop data, so that sections are reached. */
  static const char head[] = "schema: 1\nunits: inch\ncurrency: USD\n";
  char *text = malloc(sizeof head + size);
  lua_State *L = luaL_newstate();
  if (!text || !L) {
    abort();
  }
  memcpy(text, head, sizeof head - 1);
  memcpy(text + sizeof head - 1, bytes, size);
  int status = fettle_shop_read(L, "x.yaml", text, sizeof head - 1 + size, NULL, 0);
  if (lua_gettop(L) != 1) {
    abort();
  }
  if (status != 0) {
    check_message(lua_tostring(L, -1));
  }
  lua_close(L);
  free(text);
  return 0;
}
