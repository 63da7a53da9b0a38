# Installs the packages of the lock file, unless they are those that are installed already.
set(stamp ${CMAKE_CURRENT_LIST_DIR}/node_modules/.forelock-installed)
file(SHA256 ${CMAKE_CURRENT_LIST_DIR}/package-lock.json wanted)
if(EXISTS ${stamp})
  file(READ ${stamp} installed)
  if(installed STREQUAL wanted)
    return()
  endif()
endif()
execute_process(COMMAND ${NPM} ci --no-audit --no-fund --ignore-scripts
  WORKING_DIRECTORY ${CMAKE_CURRENT_LIST_DIR} COMMAND_ERROR_IS_FATAL ANY)
file(WRITE ${stamp} ${wanted})
